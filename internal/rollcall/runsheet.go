package rollcall

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/runsheet"
	"groundhand/internal/store"
)

// RunSheet is the order of the timed runs of a booked session. It proposes an order for practice: the caution stands beside it wherever it
// is shown.
type RunSheet struct {
	Session groundhand.Session
	Parts   []RunSheetPart                 // one after the other; none when nobody renews anything by timed runs
	Away    []groundhand.WorkerID          // booked, and recorded as not available for some of the session; left out
	Names   map[groundhand.WorkerID]string // of everybody booked, as on the day; no entry: no name is recorded
}

// RunSheetPart is the runs of one two-person method, so that lead and second practise the same thing. The lone runs of the session are all
// in the first part: they give the others time to rest.
type RunSheetPart struct {
	Problem runsheet.Problem
	Sheet   runsheet.Sheet
	Methods []groundhand.Method // of each run of the sheet
}

// RunSheet works out the run sheet of a session from the records: who is booked and what they renew, the crew of each on the day, the runs
// there is time for, and who was paired with whom in the drills of the twelve months before. The same records and seed give the same
// sheet, unless the context ends first; then it is the best so far. It is refused when the session is unknown or no sheet fits.
func (r *Roll) RunSheet(ctx context.Context, session groundhand.SessionID, seed uint64) (RunSheet, error) {
	var f *sheetFacts
	err := r.asOfNow(ctx, func(seen *Roll) (err error) {
		f, err = seen.sheetFacts(ctx, session)
		return err
	})
	if err != nil {
		return RunSheet{}, err
	}
	out := RunSheet{Session: f.session, Away: f.away, Names: f.names}
	left, before := f.session.MaxRuns, f.before
	for _, part := range f.parts() {
		p := part.problem(f, before)
		if f.session.MaxRuns > 0 {
			p.MaxRuns = max(0, left)
		}
		s, err := runsheet.Plan(ctx, p, runsheet.Options{Seed: seed})
		if no := (*runsheet.NoSheet)(nil); errors.As(err, &no) {
			return RunSheet{}, groundhand.Conflict("", "No run sheet fits this session: %s.", no)
		}
		if err != nil {
			return RunSheet{}, err
		}
		out.Parts = append(out.Parts, RunSheetPart{p, s, part.methodsOf(s)})
		left -= len(s.Runs)
		before = p.After(s).PairedBefore
	}
	return out, nil
}

// sheetFacts is what is recorded about a session and its people.
type sheetFacts struct {
	session groundhand.Session
	renews  map[groundhand.WorkerID][]groundhand.Method // of everybody present; a companion renews nothing
	present []groundhand.WorkerID
	away    []groundhand.WorkerID
	crews   map[groundhand.WorkerID]groundhand.CrewID
	names   map[groundhand.WorkerID]string
	before  []runsheet.Couple
}

func (r *Roll) sheetFacts(ctx context.Context, id groundhand.SessionID) (*sheetFacts, error) {
	sessions, err := store.FindStanding[groundhand.Session](ctx, r.store, store.ByID, []groundhand.SessionID{id})
	if err != nil {
		return nil, err
	}
	if len(sessions) == 0 {
		return nil, groundhand.NotFound("session", "There is no session %q, or it was withdrawn.", id)
	}
	f := &sheetFacts{session: sessions[0], renews: map[groundhand.WorkerID][]groundhand.Method{}}
	for _, load := range []func(context.Context, *Roll) error{f.loadPeople, f.loadNames, f.loadCrews, f.loadPairs} {
		if err := load(ctx, r); err != nil {
			return nil, err
		}
	}
	return f, nil
}

// loadPeople: the assessor takes no role, and whoever is away for some of the session is not counted on.
func (f *sheetFacts) loadPeople(ctx context.Context, r *Roll) error {
	bookings, err := store.FindStanding[groundhand.Booking](ctx, r.store, store.BySession, []groundhand.SessionID{f.session.ID})
	if err != nil {
		return err
	}
	for _, b := range bookings {
		if b.WorkerID == f.session.AssessorID {
			continue
		}
		methods := f.renews[b.WorkerID]
		for _, m := range b.Renews {
			if !slices.Contains(methods, groundhand.Method(m)) {
				methods = append(methods, groundhand.Method(m))
			}
		}
		f.renews[b.WorkerID] = methods
	}
	for who := range f.renews {
		f.present = append(f.present, who)
	}
	slices.Sort(f.present)
	absences, err := r.store.UnavailableBetween(ctx, f.present, f.session.StartAt, f.session.EndAt)
	for _, a := range absences {
		if at := slices.Index(f.present, a.WorkerID); at >= 0 {
			f.present, f.away = slices.Delete(f.present, at, at+1), append(f.away, a.WorkerID)
		}
	}
	slices.Sort(f.away)
	return err
}

func (f *sheetFacts) loadNames(ctx context.Context, r *Roll) (err error) {
	f.names, err = r.store.NamesOn(ctx, append(slices.Clone(f.present), f.away...), f.day(r))
	return err
}

func (f *sheetFacts) day(r *Roll) groundhand.Date { return r.dayOf(f.session.StartAt) }

// loadCrews: a relief pool is no crew that works together.
func (f *sheetFacts) loadCrews(ctx context.Context, r *Roll) error {
	places, err := r.PlacesOn(ctx, f.day(r))
	if err != nil {
		return err
	}
	crews, err := store.Standing[groundhand.Crew](ctx, r.store)
	f.crews = map[groundhand.WorkerID]groundhand.CrewID{}
	for _, who := range f.present {
		for _, c := range crews {
			if c.ID == places[who].CrewID && c.Kind != groundhand.ReliefPool {
				f.crews[who] = c.ID
			}
		}
	}
	return err
}

// monthsBack is how far back pairings are looked for: everybody who is due once a year was there in that time.
const monthsBack = 12

// loadPairs finds who led and who was second in one run, talked-through runs left out.
func (f *sheetFacts) loadPairs(ctx context.Context, r *Roll) error {
	parts, err := store.FindStanding[groundhand.RunPart](ctx, r.store, store.ByWorker, f.present)
	if err != nil {
		return err
	}
	runs, err := store.FindStanding[groundhand.Run](ctx, r.store, store.ByID, idsOf(parts, func(p groundhand.RunPart) groundhand.RunID { return p.RunID }))
	if err != nil {
		return err
	}
	last, counts := f.day(r), map[groundhand.RunID]bool{}
	for _, run := range runs {
		on := r.dayOfEntry(run.Recorded)
		counts[run.ID] = !run.Theory && run.SessionID != f.session.ID && last.AddMonths(-monthsBack) <= on && on <= last
	}
	times := map[[2]groundhand.WorkerID]int{}
	for _, a := range parts {
		for _, b := range parts {
			if a.Role == groundhand.Lead && b.Role == groundhand.Second && a.RunID == b.RunID && counts[a.RunID] && a.WorkerID != b.WorkerID {
				times[[2]groundhand.WorkerID{min(a.WorkerID, b.WorkerID), max(a.WorkerID, b.WorkerID)}]++
			}
		}
	}
	for couple, n := range times {
		f.before = append(f.before, runsheet.Couple{A: string(couple[0]), B: string(couple[1]), Times: n})
	}
	slices.SortFunc(f.before, func(a, b runsheet.Couple) int { return cmp.Or(cmp.Compare(a.A, b.A), cmp.Compare(a.B, b.B)) })
	return nil
}

// sheetPart is what is practised in one part of a session.
type sheetPart struct {
	pair groundhand.Method // empty: lone runs alone
	lone map[groundhand.WorkerID][]groundhand.Method
}

func (f *sheetFacts) parts() []sheetPart {
	var out []sheetPart
	lone := map[groundhand.WorkerID][]groundhand.Method{}
	for _, m := range groundhand.Methods {
		var who []groundhand.WorkerID
		for _, w := range f.present {
			if slices.Contains(f.renews[w], m) {
				who = append(who, w)
			}
		}
		switch {
		case len(who) == 0:
		case peoplePerRun(m) == 2:
			out = append(out, sheetPart{pair: m})
		case peoplePerRun(m) == 1:
			for _, w := range who {
				lone[w] = append(lone[w], m)
			}
		}
	}
	if len(out) == 0 && len(lone) > 0 {
		out = append(out, sheetPart{})
	}
	if len(out) > 0 {
		out[0].lone = lone
	}
	return out
}

// problem: whoever renews a two-person method leads once and is second once; whoever renews a lone one rescues alone once for each.
func (part sheetPart) problem(f *sheetFacts, before []runsheet.Couple) runsheet.Problem {
	p := runsheet.Problem{Name: string(f.session.ID), PairedBefore: before}
	for _, who := range f.present {
		w := runsheet.Person{ID: string(who), Crew: string(f.crews[who])}
		if part.pair != "" && slices.Contains(f.renews[who], part.pair) {
			w.Needs.Lead, w.Needs.Second = 1, 1
		}
		w.Needs.Lone = len(part.lone[who])
		p.People = append(p.People, w)
	}
	p.MaxRuns = p.Fewest()
	return p
}

// methodsOf is the method of each run. Somebody's lone runs come in the order of the methods.
func (part sheetPart) methodsOf(s runsheet.Sheet) []groundhand.Method {
	out := make([]groundhand.Method, len(s.Runs))
	had := map[string]int{}
	for i, run := range s.Runs {
		if out[i] = part.pair; run.Lone != "" {
			out[i] = part.lone[groundhand.WorkerID(run.Lone)][had[run.Lone]]
			had[run.Lone]++
		}
	}
	return out
}
