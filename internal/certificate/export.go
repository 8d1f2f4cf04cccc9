package certificate

import (
	"context"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"groundhand/internal/access"
	"groundhand/internal/certificate/credential"
	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Exported says what went out.
type Exported struct {
	Certificates int
	LeftOut      int // that the filter meets and that are not in it, each named in README.txt with what to do
}

// Export writes the certificates that a filter meets as a ZIP: of each the page and the signed file, a list with their digests, the issuer's
// document, the status lists and how to check it all. Withdrawn and replaced ones are not in it but named. The whole is checked before the
// first byte is written, signatures too; one certificate that cannot be shown keeps back everything. The same records asked on the same day
// give the same bytes. Progress may be nil.
func (c *Issuer) Export(ctx context.Context, by groundhand.Account, f Filter, w io.Writer, progress func(done, all int)) (Exported, error) {
	if err := access.May(by, access.ExportCertificates); err != nil {
		return Exported{}, err
	}
	if err := f.check(); err != nil {
		return Exported{}, err
	}
	if err := c.inSomebodysName(); err != nil {
		return Exported{}, err
	}
	var s selection
	err := c.store.InSnapshot(ctx, func(seen *store.Store) (err error) {
		in := c.over(seen)
		certs, err := in.pick(ctx, f)
		if err == nil {
			s, err = in.selected(ctx, certs)
		}
		return err
	})
	if err != nil {
		return Exported{}, err
	}
	bundle, err := s.bundle()
	if err != nil {
		return Exported{}, err
	}
	return Exported{len(s.in), len(s.out)}, paper.Zip(w, bundle, progress)
}

// selection is all that an export needs from the records.
type selection struct {
	in       []groundhand.Certificate // by number
	states   map[groundhand.CertificateID]State
	out      []leftOut
	issuers  issuers
	document []byte
	lists    []paper.File
	day      groundhand.Date
	until    string // last second of the day, as the checking program wants it
	name     string
	overs    bool // some are over by their last good day
}

// selected reads all that an export of these certificates needs. What has ended or cannot be given out is parted from the rest.
func (c *Issuer) selected(ctx context.Context, certs []groundhand.Certificate) (s selection, err error) {
	s = selection{day: c.roll.Today(), name: c.options.Name}
	s.until = lastSecond(s.day, c.roll.Zone()).Format(time.RFC3339)
	slices.SortFunc(certs, func(a, b groundhand.Certificate) int { return strings.Compare(string(a.ID), string(b.ID)) })
	if s.in, s.out, err = c.split(ctx, certs); err != nil {
		return s, err
	}
	for _, cert := range s.in {
		s.overs = s.overs || cert.LastGoodDay < s.day
	}
	if s.states, err = c.states(ctx, s.in); err != nil {
		return s, err
	}
	if s.issuers, err = c.issuers(ctx); err != nil {
		return s, err
	}
	if s.document, err = c.documentFor(ctx, s.in); err != nil {
		return s, err
	}
	s.lists, err = c.listsFor(ctx, s.in)
	return s, err
}

// documentFor is the issuer's document; without a public address that of the key itself, which everybody can make out of its name.
func (c *Issuer) documentFor(ctx context.Context, certs []groundhand.Certificate) ([]byte, error) {
	if c.options.Address != "" {
		return c.document(ctx)
	}
	if len(certs) > 0 {
		last := certs[len(certs)-1]
		return credential.WriteDocument(credential.Document{ID: last.IssuerID, Keys: []string{last.KeyID}})
	}
	id, issuer, err := c.activeKey(ctx)
	if err != nil {
		return nil, err
	}
	return credential.WriteDocument(credential.Document{ID: issuer, Keys: []string{id}})
}

func (c *Issuer) listsFor(ctx context.Context, certs []groundhand.Certificate) (out []paper.File, err error) {
	var numbers []int
	for _, cert := range certs {
		if cert.StatusList > 0 && !slices.Contains(numbers, cert.StatusList) {
			numbers = append(numbers, cert.StatusList)
		}
	}
	slices.Sort(numbers)
	for _, n := range numbers {
		list, err := c.statusList(ctx, n)
		if err != nil {
			return nil, err
		}
		out = append(out, paper.File{Name: fmt.Sprintf("status-%d.json", n), Data: list})
	}
	return out, nil
}

// bundle reads every signed file again, signature and all, and renders from what it says.
func (s selection) bundle() (paper.Bundle, error) {
	rows, err := s.rows()
	return paper.Bundle{Day: s.day, Rows: rows, Readme: s.readme(), Document: s.document, StatusLists: s.lists}, err
}

func (s selection) rows() ([]paper.Row, error) {
	rows, errs := make([]paper.Row, len(s.in)), make([]error, len(s.in))
	var group sync.WaitGroup
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		group.Go(func() {
			for i := w; i < len(s.in); i += workers {
				rows[i].Status = s.states[s.in[i].ID].Words()
				rows[i].Sheet, errs[i] = rendered(s.in[i], s.issuers)
			}
		})
	}
	group.Wait()
	var p groundhand.Problems
	for i, err := range errs {
		if err := p.Take("certificates["+string(s.in[i].ID)+"]", err); err != nil {
			return nil, err
		}
	}
	return rows, p.Err()
}

// rendered reads the signed file of a certificate and gives the page for it. A file that does not verify is refused: it must not go out.
func rendered(cert groundhand.Certificate, of issuers) (paper.Sheet, error) {
	found, err := credential.Read([]byte(cert.Signed), of.document)
	if err != nil {
		return paper.Sheet{}, groundhand.Conflict("", "The signed file of certificate %s does not verify (%s); run groundhand verify, and issue it anew.", cert.ID, err)
	}
	return sheetOf(found.Credential, found.KeyID, []byte(cert.Signed)), nil
}
