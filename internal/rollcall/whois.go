package rollcall

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// WhoIs finds people by what a list calls them: a staff number, else the name or another name that they bear on a day, in capitals or not.
// Who is not found, and what fits several people, is refused together under "people[3]".
func (r *Roll) WhoIs(ctx context.Context, called []string, on groundhand.Date) (out []groundhand.WorkerID, err error) {
	err = r.asOfNow(ctx, func(seen *Roll) error {
		out, err = seen.whoIs(ctx, called, on)
		return err
	})
	return out, err
}

func (r *Roll) whoIs(ctx context.Context, called []string, on groundhand.Date) ([]groundhand.WorkerID, error) {
	byNumber, err := r.numbersOn(ctx, called, on)
	if err != nil {
		return nil, err
	}
	byName, err := r.callings(ctx, on)
	if err != nil {
		return nil, err
	}
	var p groundhand.Problems
	out := make([]groundhand.WorkerID, len(called))
	for i, text := range called {
		found := byNumber[strings.TrimSpace(text)]
		if len(found) == 0 {
			found = byName[folded(text)]
		}
		switch path := fmt.Sprintf("people[%d]", i); len(found) {
		case 0:
			p.Add(groundhand.CodeNotFound, path, "Nobody has the staff number %q or is called so on %s.", text, on.Words())
		case 1:
			out[i] = found[0]
		default:
			p.Add(groundhand.CodeInvalid, path, "%q fits %d people; give the staff number of the one who is meant.", text, len(found))
		}
	}
	return out, p.Err()
}

// numbersOn finds workers by the number of their entry and by those they bear on a day.
func (r *Roll) numbersOn(ctx context.Context, called []string, on groundhand.Date) (map[string][]groundhand.WorkerID, error) {
	keys := make([]string, len(called))
	for i, text := range called {
		keys[i] = strings.TrimSpace(text)
	}
	workers, err := store.FindStanding[groundhand.Worker](ctx, r.store.Apart(), store.ByNumber, keys) // with the numbers of those who were merged
	if err != nil {
		return nil, err
	}
	later, err := store.FindStanding[groundhand.WorkerNumber](ctx, r.store, store.ByNumber, keys)
	out := people{}
	for _, w := range workers {
		out.add(w.Number, r.store.Kept(w.ID))
	}
	for _, n := range later {
		if n.FromOn <= on && (n.ToOn == 0 || on <= n.ToOn) {
			out.add(n.Number, n.WorkerID)
		}
	}
	return out, err
}

// callings are the names and other names of everybody on a day.
func (r *Roll) callings(ctx context.Context, on groundhand.Date) (map[string][]groundhand.WorkerID, error) {
	names, err := r.store.NamesOn(ctx, nil, on)
	if err != nil {
		return nil, err
	}
	others, err := store.Standing[groundhand.Alias](ctx, r.store)
	out := people{}
	for who, name := range names {
		out.add(folded(name), who)
	}
	for _, a := range others {
		if a.FromOn <= on && (a.ToOn == 0 || on <= a.ToOn) {
			out.add(folded(a.Name), a.WorkerID)
		}
	}
	return out, err
}

// people lists who is meant by a text, everybody once.
type people map[string][]groundhand.WorkerID

func (p people) add(text string, who groundhand.WorkerID) {
	if !slices.Contains(p[text], who) {
		p[text] = append(p[text], who)
	}
}

// folded makes texts alike that differ in capitals and blanks alone.
func folded(text string) string { return strings.ToLower(strings.Join(strings.Fields(text), " ")) }
