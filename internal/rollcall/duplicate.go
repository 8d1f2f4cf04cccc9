package rollcall

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Duplicate is two workers who may be one person. Somebody has to look; nothing is merged by itself.
type Duplicate struct {
	A, B groundhand.WorkerID // A came first
	Why  []string
}

// Duplicates proposes who may be one person: two with one number at one time, one name however it is spelled and ordered, or one given name
// in one home yard from one first day. Two of one name who were in different crews at one time are two people. Common practice, no source.
func (r *Roll) Duplicates(ctx context.Context) (out []Duplicate, err error) {
	err = r.asOfNow(ctx, func(seen *Roll) error {
		people, err := seen.identities(ctx)
		out = duplicates(people)
		return err
	})
	return out, err
}

// identity is what tells one worker from another.
type identity struct {
	id      groundhand.WorkerID
	numbers []numberHeld
	names   []string // all there ever were, aliases too
	yards   []groundhand.YardID
	first   groundhand.Date // first day here; zero: not known
	crews   []groundhand.Membership

	whole, given []string // the names as they are compared
}

// numberHeld is a number over some days; zero is an open end.
type numberHeld struct {
	number   string
	from, to groundhand.Date
}

func duplicates(people []identity) (out []Duplicate) {
	people = slices.Clone(people)
	for i := range people {
		for _, n := range people[i].names { // once each, not once for each pair
			people[i].whole, people[i].given = append(people[i].whole, foldedName(n)), append(people[i].given, givenName(n))
		}
	}
	for i, a := range people {
		for _, b := range people[i+1:] {
			if why := alikeness(a, b); len(why) > 0 && !inTwoPlaces(a, b) {
				out = append(out, Duplicate{a.id, b.id, why})
			}
		}
	}
	return out
}

func alikeness(a, b identity) (why []string) {
	if n := sharedNumber(a, b); n != "" {
		why = append(why, "both have the number "+n+" at one time")
	}
	switch {
	case anyShared(a.whole, b.whole):
		why = append(why, "both have one name")
	case a.first != 0 && a.first == b.first && anyShared(a.given, b.given) && shareYard(a, b):
		why = append(why, "one given name in one yard from one first day")
	}
	return why
}

func sharedNumber(a, b identity) string {
	for _, x := range a.numbers {
		for _, y := range b.numbers {
			if x.number == y.number && x.number != "" && daysMeet(x.from, x.to, y.from, y.to) {
				return x.number
			}
		}
	}
	return ""
}

// daysMeet says whether two stretches of days share one; zero is an open end.
func daysMeet(from, to, otherFrom, otherTo groundhand.Date) bool {
	return (to == 0 || otherFrom <= to) && (otherTo == 0 || from <= otherTo)
}

func anyShared(a, b []string) bool {
	return slices.ContainsFunc(a, func(x string) bool { return x != "" && slices.Contains(b, x) })
}

func shareYard(a, b identity) bool {
	return slices.ContainsFunc(a.yards, func(y groundhand.YardID) bool { return slices.Contains(b.yards, y) })
}

// inTwoPlaces says that the two were in different crews on one day.
func inTwoPlaces(a, b identity) bool {
	for _, x := range a.crews {
		for _, y := range b.crews {
			if x.CrewID != y.CrewID && daysMeet(x.FromOn, x.ToOn, y.FromOn, y.ToOn) {
				return true
			}
		}
	}
	return false
}

// NameParts are the parts of a name or the words of a text in small letters and without accents, in order.
func NameParts(text string) []string {
	bare := strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) {
			return -1
		}
		return unicode.ToLower(r)
	}, norm.NFKD.String(text))
	return strings.FieldsFunc(bare, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

// foldedName is a name whatever the order of its parts.
func foldedName(name string) string {
	parts := NameParts(name)
	slices.Sort(parts)
	return strings.Join(parts, " ")
}

// givenName is the first part of a name, or what follows the comma of "Oduya, Maren".
func givenName(name string) string {
	if _, after, comma := strings.Cut(name, ","); comma {
		name = after
	}
	if parts := NameParts(name); len(parts) > 0 {
		return parts[0]
	}
	return ""
}

// identities reads what tells the workers apart, in order of id.
func (r *Roll) identities(ctx context.Context) ([]identity, error) {
	workers, err := store.Standing[groundhand.Worker](ctx, r.store)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(workers, func(a, b groundhand.Worker) int { return cmp.Compare(a.ID, b.ID) })
	out, at := make([]identity, len(workers)), map[groundhand.WorkerID]*identity{}
	for i, w := range workers {
		out[i].id, at[w.ID] = w.ID, &out[i]
	}
	err = firstError(
		toEach(ctx, r, at, func(m groundhand.WorkerName) groundhand.WorkerID { return m.WorkerID }, func(p *identity, n groundhand.WorkerName) { p.names = append(p.names, n.Name) }),
		toEach(ctx, r, at, func(a groundhand.Alias) groundhand.WorkerID { return a.WorkerID }, func(p *identity, a groundhand.Alias) { p.names = append(p.names, a.Name) }),
		toEach(ctx, r, at, func(y groundhand.Posting) groundhand.WorkerID { return y.WorkerID }, func(p *identity, y groundhand.Posting) { p.yards = append(p.yards, y.YardID) }),
		toEach(ctx, r, at, func(m groundhand.Membership) groundhand.WorkerID { return m.WorkerID }, func(p *identity, m groundhand.Membership) { p.crews = append(p.crews, m) }),
		toEach(ctx, r, at, func(n groundhand.WorkerNumber) groundhand.WorkerID { return n.WorkerID }, func(p *identity, n groundhand.WorkerNumber) {
			p.numbers = append(p.numbers, numberHeld{n.Number, n.FromOn, n.ToOn})
		}),
		toEach(ctx, r, at, func(e groundhand.Employment) groundhand.WorkerID { return e.WorkerID }, (*identity).employed),
	)
	for _, w := range workers {
		p := at[w.ID]
		p.numbers = append(p.numbers, numberHeld{w.Number, p.first, 0})
	}
	return out, err
}

func (p *identity) employed(e groundhand.Employment) {
	if p.first == 0 || e.FromOn < p.first {
		p.first = e.FromOn
	}
}

// toEach gives every standing entry of a kind to the worker it is about.
func toEach[T any](ctx context.Context, r *Roll, at map[groundhand.WorkerID]*identity, who func(T) groundhand.WorkerID, note func(*identity, T)) error {
	all, err := store.Standing[T](ctx, r.store)
	for _, e := range all {
		if p := at[who(e)]; p != nil {
			note(p, e)
		}
	}
	return err
}

func firstError(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
