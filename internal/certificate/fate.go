package certificate

import (
	"context"
	"slices"
	"strings"

	"groundhand/internal/access"
	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Fate is a certificate and what has become of it, on the day of asking and by what was recorded until then.
type Fate struct {
	groundhand.Certificate
	State        State
	Since        groundhand.Date          // day on which it was withdrawn or replaced
	EndedBecause string                   // why it was withdrawn or replaced
	ReplacedBy   groundhand.CertificateID // the one in its place
	Fingerprint  string                   // of the signed file, in fours; empty where nothing was signed or names were erased
}

// HasFile says whether there is a signed file to hand out: the certificate was signed, its names were not erased, and it has not ended.
func (f Fate) HasFile() bool { return f.Fingerprint != "" && !f.State.final() }

func (s State) final() bool { return s == Replaced || s == Withdrawn }

// AsSeen is the issuer over what a snapshot or a look at the past sees.
func (c *Issuer) AsSeen(s *store.Store) *Issuer { return c.over(s) }

// Fates tells what has become of certificates, in their order. Why is told only to those who read the entries: a reason may be personal.
func (c *Issuer) Fates(ctx context.Context, by groundhand.Account, certs ...groundhand.Certificate) (out []Fate, err error) {
	if err := access.May(by, access.ReadCertificates); err != nil {
		return nil, err
	}
	err = c.store.InSnapshot(ctx, func(s *store.Store) error {
		out, err = c.over(s).fates(ctx, by, certs)
		return err
	})
	return out, err
}

func (c *Issuer) fates(ctx context.Context, by groundhand.Account, certs []groundhand.Certificate) ([]Fate, error) {
	states, err := c.states(ctx, certs)
	if err != nil {
		return nil, err
	}
	ended, err := c.ended(ctx, certs)
	if err != nil {
		return nil, err
	}
	out := make([]Fate, len(certs))
	for i, cert := range certs {
		out[i] = c.tellOf(by, cert, states[cert.ID])
		if e, is := ended[cert.ID]; is {
			out[i].end(by, e, c.dayAt(e.At))
		}
	}
	return out, nil
}

func (c *Issuer) tellOf(by groundhand.Account, cert groundhand.Certificate, state State) Fate {
	out := Fate{Certificate: cert, State: state}
	if isSigned(cert) {
		out.Fingerprint = paper.Fingerprint([]byte(cert.Signed))
	}
	if !readsReasons(by) {
		out.Because = "" // of a certificate in another's place: why the other was replaced
	}
	return out
}

func (f *Fate) end(by groundhand.Account, e ending, on groundhand.Date) {
	f.Since = on
	if e.Replaced {
		f.ReplacedBy = groundhand.CertificateID(e.By)
	}
	if readsReasons(by) {
		f.EndedBecause = e.Because
	}
}

func readsReasons(by groundhand.Account) bool { return access.May(by, access.ReadEntries) == nil }

// Leaf asks for certificates by number, a page at a time.
type Leaf struct {
	Filter
	States []State                  // in one of these; none: in any
	After  groundhand.CertificateID // with a greater number
	First  int                      // at most so many
}

// Leafed gives the certificates asked for, ended ones too, and whether more follow. It finds what Export finds with the same filter.
func (c *Issuer) Leafed(ctx context.Context, by groundhand.Account, l Leaf) (rows []Fate, more bool, err error) {
	if err := access.May(by, access.ReadCertificates); err != nil {
		return nil, false, err
	}
	if err := l.check(); err != nil {
		return nil, false, err
	}
	err = c.store.InSnapshot(ctx, func(s *store.Store) error {
		rows, err = c.over(s).leafed(ctx, by, l)
		return err
	})
	if len(rows) > l.First {
		return rows[:l.First], true, err
	}
	return rows, false, err
}

// atATime is how many certificates are looked at together when only some states are wanted.
const atATime = 500

// leafed reads on until there is one more than asked for or no more are left.
func (c *Issuer) leafed(ctx context.Context, by groundhand.Account, l Leaf) ([]Fate, error) {
	batch := l.First + 1
	if len(l.States) > 0 {
		batch = max(batch, atATime)
	}
	next, err := c.leaves(ctx, l, batch)
	if err != nil {
		return nil, err
	}
	var rows []Fate
	for len(rows) <= l.First {
		certs, err := next()
		if err != nil || len(certs) == 0 {
			return rows, err
		}
		some, err := c.inStates(ctx, by, certs, l.States)
		if err != nil {
			return nil, err
		}
		rows = append(rows, some...)
	}
	return rows, nil
}

// leaves gives the certificates that the filter meets, by number, some at a time; at the end none. Without a filter they are read no further than needed.
func (c *Issuer) leaves(ctx context.Context, l Leaf, batch int) (func() ([]groundhand.Certificate, error), error) {
	if l.isEmpty() {
		after := string(l.After)
		return func() ([]groundhand.Certificate, error) {
			rows, _, err := store.Page[groundhand.Certificate](ctx, c.store, store.PageOf{First: batch, After: after})
			if len(rows) > 0 {
				after = string(rows[len(rows)-1].ID)
			}
			return rows, err
		}, nil
	}
	all, err := c.pick(ctx, l.Filter)
	all = slices.DeleteFunc(all, func(cert groundhand.Certificate) bool { return cert.ID <= l.After })
	slices.SortFunc(all, func(a, b groundhand.Certificate) int { return strings.Compare(string(a.ID), string(b.ID)) })
	return func() (rows []groundhand.Certificate, err error) {
		n := min(batch, len(all))
		rows, all = all[:n], all[n:]
		return rows, nil
	}, err
}

func (f Filter) isEmpty() bool {
	return f.ShownFrom == 0 && f.ShownThrough == 0 && f.Crew == "" && f.Employer == "" && f.Client == "" && f.RuleSet == "" && len(f.Numbers) == 0 && len(f.People) == 0
}

// inStates keeps the certificates in one of some states. Those whose end decides already are not asked about any further.
func (c *Issuer) inStates(ctx context.Context, by groundhand.Account, certs []groundhand.Certificate, states []State) ([]Fate, error) {
	if len(states) == 0 {
		return c.fates(ctx, by, certs)
	}
	ended, err := c.ended(ctx, certs)
	if err != nil {
		return nil, err
	}
	standing := slices.ContainsFunc(states, func(s State) bool { return !s.final() })
	certs = slices.DeleteFunc(slices.Clone(certs), func(cert groundhand.Certificate) bool {
		e, over := ended[cert.ID]
		return over && !slices.Contains(states, e.state()) || !over && !standing
	})
	rows, err := c.fates(ctx, by, certs)
	return slices.DeleteFunc(rows, func(f Fate) bool { return !slices.Contains(states, f.State) }), err
}
