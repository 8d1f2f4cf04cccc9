package certificate

import (
	"context"
	"sync"
	"time"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// A list is good for thirty days and begins anew every seven, so that one that anybody keeps is never about to run out.
const (
	listSlot = 7 * 24 * time.Hour
	listGood = 30 * 24 * time.Hour
)

// StatusList gives the published list of a number, signed: the places of the certificates that were withdrawn or replaced are set. It is made from
// the records whenever it is asked for, so it is never old; asked twice without a change between, it is the same byte for byte for as long as
// a slot of seven days runs. A list in which no certificate has a place is NotFound.
func (c *Issuer) StatusList(ctx context.Context, n int) (out []byte, err error) {
	err = c.store.InSnapshot(ctx, func(s *store.Store) error {
		out, err = c.over(s).statusList(ctx, n)
		return err
	})
	return out, err
}

func (c *Issuer) statusList(ctx context.Context, n int) ([]byte, error) {
	if err := c.isList(ctx, n); err != nil {
		return nil, err
	}
	list, err := c.listNow(ctx, n)
	if err != nil {
		return nil, err
	}
	keyID, key, err := c.signingKey(ctx)
	if err != nil {
		return nil, err
	}
	if list.IssuerID, err = c.issuerID(keyID); err != nil {
		return nil, err
	}
	of := listOf{list.ID, list.IssuerID, keyID, list.From, len(list.Set)}
	return c.lists.get(of, func() ([]byte, error) { return credential.SignStatusList(list, key, list.From) })
}

// isList refuses a list that nobody has a place in. A list is opened when the one before is half full, so the numbers have no gaps.
func (c *Issuer) isList(ctx context.Context, n int) error {
	if c.options.Address != "" && n > 0 {
		used, err := store.UsedIndexes(ctx, c.store, n)
		if err != nil || len(used) > 0 {
			return err
		}
	}
	return groundhand.NotFound("", "There is no status list of this number.")
}

// listNow is the list as the records have it.
func (c *Issuer) listNow(ctx context.Context, n int) (credential.StatusList, error) {
	revoked, err := store.RevokedIn(ctx, c.store, n)
	from := slotOf(c.store.Now().Time())
	out := credential.StatusList{ID: listAddress(c.options.Address, n)}
	for _, r := range revoked {
		out.Set = append(out.Set, r.StatusIndex)
		if at := r.At.Time().Truncate(time.Second); at.After(from) {
			from = at
		}
	}
	out.From, out.Until = from, from.Add(listGood)
	return out, err
}

// slotOf is the begin of the slot that runs, counted from the beginning of 1970 in UTC.
func slotOf(now time.Time) time.Time {
	const slot = int64(listSlot / time.Second)
	return time.Unix(now.Unix()-now.Unix()%slot, 0).UTC()
}

// listsKept are the lists signed last, so that one which did not change is not signed again.
type listsKept struct {
	mu   sync.Mutex
	kept map[string]keptList
}

// listOf is what a list is made of: places are only ever added.
type listOf struct {
	id, issuer, key string
	from            time.Time
	set             int
}

type keptList struct {
	of     listOf
	signed []byte
}

func (l *listsKept) get(of listOf, sign func() ([]byte, error)) ([]byte, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if known, is := l.kept[of.id]; is && known.of == of {
		return known.signed, nil
	}
	signed, err := sign()
	if err != nil {
		return nil, err
	}
	if l.kept == nil {
		l.kept = map[string]keptList{}
	}
	l.kept[of.id] = keptList{of, signed}
	return signed, nil
}
