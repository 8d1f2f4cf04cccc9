package demo

import (
	"context"
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"slices"
	"time"

	"groundhand/internal/access"
	"groundhand/internal/certificate"
	g "groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// Zone is where the company is. Its clocks change twice a year.
const Zone = "Europe/Dublin"

// The wall clock of the company when the play begins and where it ends.
const (
	opening = "2024-01-01 08:00"
	evening = "2025-06-11 19:20"
)

// Evening is the moment of the demonstration, Wed 11 Jun 2025 19:20.
func Evening(zone *time.Location) time.Time { return at(zone, evening) }

// Stage is what the play is played on.
type Stage struct {
	Desk          *training.Desk
	Door          *access.Door
	Clock         *Clock // also that of the records
	IDs           *IDs   // also those of the records
	Zone          *time.Location
	Seed          uint64
	Certificates  *certificate.Issuer
	OpenReview    func(ctx context.Context, entry g.EntryID) (g.EntryID, error)     // finds the review of an entry that is open
	CertificateOf func(ctx context.Context, shown g.EntryID) (g.Certificate, error) // finds the certificate that was issued for a pass
	Told          func(done, all int)                                               // told after every act; nil: nobody
}

// Cast is who can be found afterwards.
type Cast struct {
	Workers map[string]g.WorkerID // by name, as on 1 Jan 2024
	Keys    []Key                 // one account for each capacity, in the order in which capacities are shown
}

// Key opens the service for one account.
type Key struct {
	Account g.Account
	Token   string
}

// Account is the account that the play opened for a capacity.
func (c Cast) Account(capacity g.Capacity) g.Account {
	for _, k := range c.Keys {
		if k.Account.Capacity == capacity {
			return k.Account
		}
	}
	return g.Account{}
}

// Play plays the company from Mon 1 Jan 2024 to the evening of Wed 11 Jun 2025 and leaves the clock there. The records must be empty.
// The same seed plays the same records.
func Play(ctx context.Context, s Stage) (Cast, error) {
	p := &player{Stage: s, ctx: ctx, who: namedWorkers(), hands: map[string]g.Account{}, passed: map[pass]g.EntryID{}, gone: map[string]map[g.Date]bool{}}
	p.openBooks()
	p.calendar()
	p.stories()
	p.absences()
	p.looks()
	p.past()
	p.storm()
	p.hireTruck()
	p.shifts()
	p.bookings()
	p.perform()
	p.Clock.turnTo(Evening(s.Zone))
	return Cast{p.who, p.keys}, p.err
}

// player lives for one play, which is why it may carry the context. After the first failure it does nothing more.
type player struct {
	Stage
	ctx     context.Context
	who     map[string]g.WorkerID
	hands   map[string]g.Account // by name of the person
	keys    []Key
	gone    map[string]map[g.Date]bool // days on which somebody is not there, by name
	deeds   []deed
	acts    int
	passed  map[pass]g.EntryID // the passes that were entered
	wrongly []g.EntryID        // the passes that Sanna gave while her own practice was not good
	err     error
}

// pass says which pass of somebody who led is meant.
type pass struct {
	name   string
	method g.Method
	day    g.Date
}

// deed is something that somebody enters at a moment.
type deed struct {
	at time.Time
	do func()
}

// perform plays the deeds in the order of their moments; of two at one moment the one noted first.
func (p *player) perform() {
	slices.SortStableFunc(p.deeds, func(a, b deed) int { return a.at.Compare(b.at) })
	for i, d := range p.deeds {
		if p.err != nil {
			return
		}
		p.Clock.turnTo(d.at)
		d.do()
		if p.Told != nil {
			p.Told(i+1, len(p.deeds))
		}
	}
}

// tellAt notes a deed that is entered at a moment. Nothing is told before the books are open or after the evening.
func (p *player) tellAt(when time.Time, do func()) {
	first, last := at(p.Zone, opening).Add(time.Hour), Evening(p.Zone)
	switch {
	case when.Before(first):
		when = first
	case when.After(last):
		when = last
	}
	p.deeds = append(p.deeds, deed{when, do})
}

// tell notes a deed that is entered some time after it happened: mostly within two hours, sometimes on the next morning.
func (p *player) tell(happened time.Time, name string, do func()) {
	const sameDay = 0.85
	chance := p.chance("told " + name)
	if days, late := toldLate[name]; late {
		p.tellAt(happened.AddDate(0, 0, days), do)
		return
	}
	if chance.Float64() < sameDay {
		p.tellAt(happened.Add(time.Duration(3+chance.IntN(115))*time.Minute), do)
		return
	}
	y, m, d := happened.In(p.Zone).Date()
	p.tellAt(time.Date(y, m, d+1, 7, 30+chance.IntN(120), 0, 0, p.Zone), do)
}

// toldLate are the sessions whose sheets lay in a drawer, with the days until they were entered.
var toldLate = map[string]int{"2024-04-16 08:00B01": 5, "2024-05-21 08:00A06": 6, "2024-07-09 13:00A02": 4, "2025-04-15 08:30B04": 6}

// chance is the luck of one thing by its name, so that what is added to the story later leaves the rest as it was.
func (p *player) chance(name string) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(name))
	return rand.New(rand.NewPCG(p.Seed, h.Sum64()))
}

// enter hands in one form in somebody's name.
func enter[F, T any](p *player, name string, act func(context.Context, g.Account, string, F) (T, error), form F) T {
	var none T
	if p.err != nil {
		return none
	}
	p.acts++
	made, err := act(p.ctx, p.hands[name], fmt.Sprintf("play-%05d", p.acts), form)
	if err != nil {
		p.err = fmt.Errorf("play: %s enters %T on %s: %w", name, form, p.Clock.Now().Format(time.DateTime), err)
		return none
	}
	return made
}

// worker is somebody of the company by name.
func (p *player) worker(name string) g.WorkerID {
	id, there := p.who[name]
	if !there && p.err == nil {
		p.err = fmt.Errorf("play: nobody is called %q", name)
	}
	return id
}

const clockLayout = "2006-01-02 15:04"

// at reads a moment of the calendar by the wall clock of a zone.
func at(zone *time.Location, moment string) time.Time {
	t, err := time.ParseInLocation(clockLayout, moment, zone)
	if err != nil {
		panic(err) // a mistake in the tables of this package
	}
	return t
}

func (p *player) at(moment string) time.Time { return at(p.Zone, moment) }

func (p *player) instant(moment string) g.Instant { return g.InstantOf(p.at(moment)) }

func (p *player) dayOf(t time.Time) g.Date { return g.DateOf(t.In(p.Zone)) }
