package rollcall

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// Record is everything that is recorded about one worker, for that worker to read: of others it says only who signed. Why somebody was away is
// not in it.
type Record struct {
	WorkerID     groundhand.WorkerID
	On           groundhand.Date
	Worker       groundhand.Worker
	Names        []groundhand.WorkerName // these five in the order in which they begin
	Numbers      []groundhand.WorkerNumber
	Aliases      []groundhand.Alias
	Employments  []groundhand.Employment
	Gradings     []groundhand.Grading
	CrewID       groundhand.CrewID // on the day; empty: none
	Grade        groundhand.Grading
	Standings    []RecordLine    // what our own rules ask in that crew
	Entries      []RecordEntry   // replaced and withdrawn ones too, in recorded order
	Extensions   []LiveExtension // on the day
	Provisionals []LiveProvisional
	NextDrill    *BookedDrill // nil: none is booked
	OpenDisputes int
}

// RecordLine is one standing with its reason in words.
type RecordLine struct {
	WorkerStanding
	Why string
}

// RecordEntry is one entry about the worker.
type RecordEntry struct {
	EntryID groundhand.EntryID
	Kind    string // as the table is called
	groundhand.Recorded
	Says        rulebook.Asked        // method, role and family, as far as it names them
	Result      string                // of an assessment, the level of evidence, the kind of an absence, the grade; empty: none
	SignedBy    []groundhand.WorkerID // who assessed, watched, checked or approved, beside the author
	Marks       []Mark
	Corrections []groundhand.Correction // that put something else in its place
	Disputes    []RecordDispute
}

// RecordDispute is a dispute about an entry and how it ended.
type RecordDispute struct {
	groundhand.Dispute
	Ruling *groundhand.Ruling // nil: open
}

// BookedDrill is a seat in a session to come.
type BookedDrill struct {
	Session groundhand.Session
	Renews  groundhand.List
}

// Record gives the record of a worker as of today.
func (r *Roll) Record(ctx context.Context, who groundhand.WorkerID) (out Record, err error) {
	err = r.asOfNow(ctx, func(seen *Roll) error {
		out, err = seen.record(ctx, who)
		return err
	})
	return out, err
}

func (r *Roll) record(ctx context.Context, who groundhand.WorkerID) (Record, error) {
	out := Record{WorkerID: who, On: r.Today()}
	var err error
	if out.Worker, err = store.Get[groundhand.Worker](ctx, r.store, who); err != nil {
		return out, err
	}
	for _, add := range []func(context.Context, *Record) error{r.addIdentity, r.addPlace, r.addStandings, r.addEntries, r.addAllowances, r.addNextDrill} {
		if err := add(ctx, &out); err != nil {
			return Record{}, err
		}
	}
	return out, nil
}

func (r *Roll) addIdentity(ctx context.Context, out *Record) (err error) {
	who := []groundhand.WorkerID{out.WorkerID}
	if out.Names, err = store.FindStanding[groundhand.WorkerName](ctx, r.store, store.ByWorker, who); err != nil {
		return err
	}
	if out.Numbers, err = store.FindStanding[groundhand.WorkerNumber](ctx, r.store, store.ByWorker, who); err != nil {
		return err
	}
	if out.Aliases, err = store.FindStanding[groundhand.Alias](ctx, r.store, store.ByWorker, who); err != nil {
		return err
	}
	if out.Employments, err = store.FindStanding[groundhand.Employment](ctx, r.store, store.ByWorker, who); err != nil {
		return err
	}
	if out.Gradings, err = store.FindStanding[groundhand.Grading](ctx, r.store, store.ByWorker, who); err != nil {
		return err
	}
	slices.SortStableFunc(out.Names, func(a, b groundhand.WorkerName) int { return cmp.Compare(a.HappenedOn, b.HappenedOn) })
	slices.SortStableFunc(out.Numbers, func(a, b groundhand.WorkerNumber) int { return cmp.Compare(a.FromOn, b.FromOn) })
	slices.SortStableFunc(out.Aliases, func(a, b groundhand.Alias) int { return cmp.Compare(a.FromOn, b.FromOn) })
	slices.SortStableFunc(out.Employments, func(a, b groundhand.Employment) int { return cmp.Compare(a.FromOn, b.FromOn) })
	slices.SortStableFunc(out.Gradings, func(a, b groundhand.Grading) int { return cmp.Compare(a.HappenedOn, b.HappenedOn) })
	return nil
}

func (r *Roll) addPlace(ctx context.Context, out *Record) error {
	places, err := r.PlacesOn(ctx, out.On)
	out.CrewID, out.Grade = places[out.WorkerID].CrewID, gradeOn(out.Gradings, out.On)
	return err
}

func (r *Roll) addStandings(ctx context.Context, out *Record) error {
	answers, err := r.Standings(ctx, StandingQuestion{Workers: []groundhand.WorkerID{out.WorkerID}, On: out.On})
	for _, a := range answers {
		out.Standings = append(out.Standings, RecordLine{a, StandingWords(a)})
	}
	return err
}

func (r *Roll) addAllowances(ctx context.Context, out *Record) error {
	extensions, err := r.Extensions(ctx, out.On)
	if err != nil {
		return err
	}
	provisionals, err := r.Provisionals(ctx, out.On)
	out.Extensions = slices.DeleteFunc(extensions, func(x LiveExtension) bool { return x.WorkerID != out.WorkerID })
	out.Provisionals = slices.DeleteFunc(provisionals, func(x LiveProvisional) bool { return x.WorkerID != out.WorkerID })
	return err
}

func (r *Roll) addNextDrill(ctx context.Context, out *Record) error {
	seats, err := r.bookedSeats(ctx, []groundhand.WorkerID{out.WorkerID})
	if theirs := seats[out.WorkerID]; len(theirs) > 0 {
		out.NextDrill = &BookedDrill{theirs[0].session, theirs[0].Renews}
	}
	return err
}

// addEntries gathers what names the worker, and what corrects or withdraws it.
func (r *Roll) addEntries(ctx context.Context, out *Record) error {
	s := &search{ctx, r, map[groundhand.EntryID]noted{}, nil}
	who := []string{string(out.WorkerID)}
	s.people(who)
	for _, k := range identityKinds {
		s.take(k, store.ByWorker, who)
	}
	s.corrections()
	if s.err != nil {
		return s.err
	}
	var entries []noted
	for _, e := range s.seen {
		if e.worker == out.WorkerID || e.kind == withdrawalKind.name {
			entries = append(entries, e) // a correction about somebody else is theirs to read
		}
	}
	slices.SortFunc(entries, func(a, b noted) int { return cmp.Or(cmp.Compare(a.RecordedAt, b.RecordedAt), cmp.Compare(a.id, b.id)) })
	return r.describe(ctx, out, entries)
}

func (r *Roll) describe(ctx context.Context, out *Record, entries []noted) error {
	marks, err := r.marksOf(ctx, entries)
	if err != nil {
		return err
	}
	ids := idsOf(entries, func(e noted) groundhand.EntryID { return e.id })
	corrections, err := r.correctionsOf(ctx, ids)
	if err != nil {
		return err
	}
	disputes, err := r.disputesOf(ctx, ids)
	if err != nil {
		return err
	}
	runs, err := r.runsOf(ctx, entries)
	for _, e := range entries {
		if run, is := runs[e.names]; is {
			e.says.Method, e.says.FamilyID, e.signed = run.says.Method, run.says.FamilyID, append(e.signed, run.signed...)
		}
		if e.kind == unavailabilities {
			e.Because = "" // may tell of health
		}
		line := RecordEntry{EntryID: e.id, Kind: e.kind, Recorded: e.Recorded, Says: e.says, Result: e.result, SignedBy: e.signed, Marks: marks[e.id],
			Corrections: corrections[e.id], Disputes: disputes[e.id]}
		if e.kind == withdrawalKind.name {
			line.ReplacesID = e.names
		}
		for _, d := range line.Disputes {
			if d.Ruling == nil {
				out.OpenDisputes++
			}
		}
		out.Entries = append(out.Entries, line)
	}
	return err
}

func (r *Roll) runsOf(ctx context.Context, entries []noted) (map[groundhand.EntryID]noted, error) {
	var ids []groundhand.EntryID
	for _, e := range entries {
		if e.kind == partKind.name {
			ids = append(ids, e.names)
		}
	}
	runs, err := runKind.find(ctx, r.store, store.ByID, words(ids))
	out := map[groundhand.EntryID]noted{}
	for _, run := range runs {
		out[run.id] = run
	}
	return out, err
}

func (r *Roll) correctionsOf(ctx context.Context, ids []groundhand.EntryID) (map[groundhand.EntryID][]groundhand.Correction, error) {
	found, err := store.FindStanding[groundhand.Correction](ctx, r.store, store.ByCorrected, ids)
	out := map[groundhand.EntryID][]groundhand.Correction{}
	for _, c := range found {
		out[c.ReplacedID] = append(out[c.ReplacedID], c)
	}
	return out, err
}

func (r *Roll) disputesOf(ctx context.Context, ids []groundhand.EntryID) (map[groundhand.EntryID][]RecordDispute, error) {
	found, err := store.FindStanding[groundhand.Dispute](ctx, r.store, store.ByEntry, ids)
	if err != nil {
		return nil, err
	}
	rulings, err := store.FindStanding[groundhand.Ruling](ctx, r.store, store.ByDispute, idsOf(found, func(d groundhand.Dispute) groundhand.EntryID { return d.ID }))
	out := map[groundhand.EntryID][]RecordDispute{}
	for _, d := range found {
		line := RecordDispute{Dispute: d}
		for i := range rulings {
			if rulings[i].DisputeID == d.ID {
				line.Ruling = &rulings[i]
			}
		}
		out[d.EntryID] = append(out[d.EntryID], line)
	}
	return out, err
}
