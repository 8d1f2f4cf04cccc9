package competence

import (
	"cmp"
	"slices"
	"sync"
	"time"

	"groundhand/internal/groundhand"
)

// Book is facts indexed by person, ready to be asked. It may be asked from several goroutines at once. It keeps the slices of the
// facts it was made from, which must not be changed afterwards.
type Book struct {
	zone      *time.Location
	sets      []RuleSet
	eras      []era
	entries   []Entry
	when      []moment // of each entry
	byID      map[string]int32
	namers    namers
	own       []int32                  // entries in order of person, day and id
	people    map[string][2]int32      // a person's part of own: first and one past the last
	authority map[string][]int32       // authority entries of an assessor
	mu        sync.Mutex               // guards memo
	memo      map[assessorThatDay]bool // filled as questions are asked
}

// moment is when an entry happened and was recorded, in whole seconds since 1970. An entry with an instant has lo = hi; one on a
// bare day may have happened at any second of that local day.
type moment struct {
	lo, hi, recorded int64
	day              groundhand.Date
}

// NewBook checks and indexes facts, once for any number of questions. The error is a *groundhand.Error as of Check.
func NewBook(f Facts) (*Book, error) {
	byID, err := check(f)
	if err != nil {
		return nil, err
	}
	zone, err := loadZone(f.Zone)
	if err != nil {
		return nil, err
	}
	b := &Book{zone: zone, sets: f.RuleSets, eras: erasOf(f.RuleSets), entries: f.Entries, byID: byID}
	b.when = momentsOf(f.Entries, zone)
	b.namers = namersOf(f.Entries, byID)
	b.indexPeople()
	b.memo = map[assessorThatDay]bool{}
	return b, nil
}

// Zone is the zone whose days are asked about.
func (b *Book) Zone() *time.Location { return b.zone }

func (b *Book) indexPeople() {
	b.own = make([]int32, 0, len(b.entries))
	b.authority = map[string][]int32{}
	for i := range b.entries {
		e := &b.entries[i]
		if e.Kind == Withdrawal {
			continue
		}
		b.own = append(b.own, int32(i))
		if e.Kind == Authority {
			b.authority[e.Person] = append(b.authority[e.Person], int32(i))
		}
	}
	slices.SortFunc(b.own, b.inOrder)
	b.people = map[string][2]int32{}
	for from := 0; from < len(b.own); {
		person, to := b.entries[b.own[from]].Person, from+1
		for to < len(b.own) && b.entries[b.own[to]].Person == person {
			to++
		}
		b.people[person] = [2]int32{int32(from), int32(to)}
		from = to
	}
}

func (b *Book) inOrder(x, y int32) int {
	return cmp.Or(cmp.Compare(b.entries[x].Person, b.entries[y].Person), cmp.Compare(b.when[x].day, b.when[y].day),
		cmp.Compare(b.entries[x].ID, b.entries[y].ID))
}

// entriesOf are a person's entries in order of day and id.
func (b *Book) entriesOf(person string) []int32 {
	part := b.people[person]
	return b.own[part[0]:part[1]]
}

func momentsOf(entries []Entry, zone *time.Location) []moment {
	starts := map[groundhand.Date]int64{} // finding a start is dear, and many entries share few days
	start := func(d groundhand.Date) int64 {
		s, found := starts[d]
		if !found {
			s = startOf(d, zone)
			starts[d] = s
		}
		return s
	}
	out := make([]moment, len(entries))
	for i := range entries {
		e, m := &entries[i], &out[i]
		m.recorded = seconds(e.RecordedAt)
		switch {
		case e.Kind == Withdrawal:
		case !e.HappenedOn.IsZero():
			m.day, m.lo, m.hi = e.HappenedOn, start(e.HappenedOn), start(e.HappenedOn+1)-1
		default:
			m.lo = seconds(e.HappenedAt)
			m.day, m.hi = dayOf(m.lo, zone), m.lo
		}
	}
	return out
}

// seconds cuts an instant to whole seconds, the precision of the formats.
func seconds(i groundhand.Instant) int64 { return i.Time().Unix() }

func startOf(d groundhand.Date, zone *time.Location) int64 { return d.Start(zone).Unix() }

// endOf is the last second of a local day.
func endOf(d groundhand.Date, zone *time.Location) int64 { return startOf(d+1, zone) - 1 }

func dayOf(second int64, zone *time.Location) groundhand.Date {
	return groundhand.DateOf(time.Unix(second, 0).In(zone))
}

// later says that x happened provably after y.
func (b *Book) later(x, y int32) bool { return b.when[x].lo > b.when[y].hi }
