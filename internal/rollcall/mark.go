package rollcall

import (
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Mark is a word beside an entry, for whoever has to decide how far to believe it. It takes nothing away from what the entry counts for.
type Mark string

// The marks.
const (
	MarkLate         Mark = "LATE"         // recorded long after it happened, or after an incident of the same crew; for ever
	MarkCorrected    Mark = "CORRECTED"    // another entry stands in its place
	MarkWithdrawn    Mark = "WITHDRAWN"    // it no longer holds
	MarkDisputed     Mark = "DISPUTED"     // somebody says that it is wrong, and nobody has ruled yet
	MarkInReview     Mark = "IN_REVIEW"    // it is being looked at again
	MarkTranscribed  Mark = "TRANSCRIBED"  // copied from paper
	MarkImported     Mark = "IMPORTED"     // read from a file
	MarkContradicted Mark = "CONTRADICTED" // another entry says that it can hardly have been so
)

// AllMarks lists the marks in the order in which they are shown.
var AllMarks = []Mark{MarkLate, MarkCorrected, MarkWithdrawn, MarkDisputed, MarkInReview, MarkTranscribed, MarkImported, MarkContradicted}

// LateAfterDays is how many days after something happened it may be recorded without being marked late. Common practice, no source.
const LateAfterDays = 3

// Marks gives the marks of entries of any kind, each list in the order of AllMarks. Entries without a mark, and ids of nothing, are not in
// the answer.
func (r *Roll) Marks(ctx context.Context, ids []groundhand.EntryID) (out map[groundhand.EntryID][]Mark, err error) {
	err = r.asOfNow(ctx, func(seen *Roll) error {
		entries, err := seen.entriesByID(ctx, ids)
		if err == nil {
			out, err = seen.marksOf(ctx, entries)
		}
		return err
	})
	return out, err
}

func (r *Roll) entriesByID(ctx context.Context, ids []groundhand.EntryID) ([]noted, error) {
	keys := words(ids)
	var out []noted
	for _, k := range markedKinds {
		rows, err := k.find(ctx, r.store, store.ByID, keys)
		if err != nil {
			return nil, err
		}
		if out = append(out, rows...); len(out) >= len(keys) {
			break
		}
	}
	return out, nil
}

func words[K ~string](ids []K) []string {
	out := []string{}
	for _, id := range unique(ids) {
		out = append(out, string(id))
	}
	return out
}

// marking gathers marks.
type marking struct {
	roll    *Roll
	ctx     context.Context
	entries []noted
	marks   map[groundhand.EntryID]map[Mark]bool
}

func (r *Roll) marksOf(ctx context.Context, entries []noted) (map[groundhand.EntryID][]Mark, error) {
	m := marking{r, ctx, entries, map[groundhand.EntryID]map[Mark]bool{}}
	for _, step := range []func() error{m.origin, m.late, m.dead, m.disputed, m.reviewed, m.contradicted} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	out := map[groundhand.EntryID][]Mark{}
	for id, has := range m.marks {
		for _, mark := range AllMarks {
			if has[mark] {
				out[id] = append(out[id], mark)
			}
		}
	}
	return out, nil
}

func (m *marking) put(id groundhand.EntryID, mark Mark) {
	if m.marks[id] == nil {
		m.marks[id] = map[Mark]bool{}
	}
	m.marks[id][mark] = true
}

func (m *marking) ids() []groundhand.EntryID {
	return idsOf(m.entries, func(e noted) groundhand.EntryID { return e.id })
}

func (m *marking) origin() error {
	for _, e := range m.entries {
		switch e.CameBy {
		case groundhand.FromPaper:
			m.put(e.id, MarkTranscribed)
		case groundhand.Imported:
			m.put(e.id, MarkImported)
		}
	}
	return nil
}

// late compares the two clocks. What was imported says so instead of being called late for its days; an incident in between makes it late all
// the same.
func (m *marking) late() error {
	for _, e := range m.entries {
		if e.CameBy != groundhand.Imported && m.roll.recordedLate(e.Recorded) {
			m.put(e.id, MarkLate)
		}
	}
	return m.afterIncident()
}

func (r *Roll) recordedLate(e groundhand.Recorded) bool {
	day := r.dayOfEntry(e)
	return day != 0 && r.dayOf(e.RecordedAt) > day+LateAfterDays
}

// afterIncident finds what happened before an incident of the worker's crew of that time and was recorded after it.
func (m *marking) afterIncident() error {
	events, err := store.Standing[groundhand.RealEvent](m.ctx, m.roll.store)
	if err != nil || len(events) == 0 {
		return err
	}
	people := idsOf(m.entries, func(e noted) groundhand.WorkerID { return e.worker })
	memberships, err := store.FindStanding[groundhand.Membership](m.ctx, m.roll.store, store.ByWorker, unique(people))
	if err != nil {
		return err
	}
	theirs := map[groundhand.WorkerID][]groundhand.Membership{}
	for _, in := range memberships {
		theirs[in.WorkerID] = append(theirs[in.WorkerID], in)
	}
	for _, e := range m.entries {
		if e.worker != "" && slices.ContainsFunc(events, func(x groundhand.RealEvent) bool { return m.roll.between(e, x, theirs[e.worker]) }) {
			m.put(e.id, MarkLate)
		}
	}
	return nil
}

func (r *Roll) between(e noted, x groundhand.RealEvent, memberships []groundhand.Membership) bool {
	at := r.overBy(x.Recorded)
	return x.CrewID != "" && r.dayOfEntry(e.Recorded) != 0 && r.began(e.Recorded) < at && at < e.RecordedAt && r.placeAt(memberships, r.began(x.Recorded)) == x.CrewID
}

// overBy is a moment by which an event had happened for certain: of a bare day its end, or when it was told.
func (r *Roll) overBy(e groundhand.Recorded) groundhand.Instant {
	if e.HappenedAt != 0 {
		return e.HappenedAt
	}
	return min(r.start(e.HappenedOn+1), e.RecordedAt)
}

// dead tells what was withdrawn, itself or with its run, from what was replaced.
func (m *marking) dead() error {
	about := m.ids()
	for _, e := range m.entries {
		if e.kind == partKind.name {
			about = append(about, e.names)
		}
	}
	withdrawals, err := store.FindStanding[groundhand.Withdrawal](m.ctx, m.roll.store, store.ByWithdrawn, unique(about))
	if err != nil {
		return err
	}
	gone := map[groundhand.EntryID]bool{}
	for _, w := range withdrawals {
		gone[w.WithdrawsID] = true
	}
	standing, err := m.standing()
	if err != nil {
		return err
	}
	for _, e := range m.entries {
		switch {
		case gone[e.id] || e.kind == partKind.name && gone[e.names]:
			m.put(e.id, MarkWithdrawn)
		case !standing[e.id]:
			m.put(e.id, MarkCorrected)
		}
	}
	return nil
}

func (m *marking) standing() (map[groundhand.EntryID]bool, error) {
	keys := map[string][]groundhand.EntryID{}
	for _, e := range m.entries {
		keys[e.kind] = append(keys[e.kind], e.id)
	}
	out := map[groundhand.EntryID]bool{}
	for _, k := range markedKinds {
		rows, err := k.standing(m.ctx, m.roll.store, store.ByID, words(keys[k.name]))
		if err != nil {
			return nil, err
		}
		for _, e := range rows {
			out[e.id] = true
		}
	}
	return out, nil
}

func (m *marking) disputed() error {
	disputes, err := store.FindStanding[groundhand.Dispute](m.ctx, m.roll.store, store.ByEntry, m.ids())
	if err != nil {
		return err
	}
	rulings, err := store.FindStanding[groundhand.Ruling](m.ctx, m.roll.store, store.ByDispute, idsOf(disputes, func(d groundhand.Dispute) groundhand.EntryID { return d.ID }))
	ruled := map[groundhand.EntryID]bool{}
	for _, x := range rulings {
		ruled[x.DisputeID] = true
	}
	for _, d := range disputes {
		if !ruled[d.ID] {
			m.put(d.EntryID, MarkDisputed)
		}
	}
	return err
}

func (m *marking) reviewed() error {
	reviews, err := store.FindStanding[groundhand.Review](m.ctx, m.roll.store, store.ByEntry, m.ids())
	if err != nil {
		return err
	}
	closings, err := store.FindStanding[groundhand.ReviewClosing](m.ctx, m.roll.store, store.ByReview, idsOf(reviews, func(x groundhand.Review) groundhand.EntryID { return x.ID }))
	closed := map[groundhand.EntryID]bool{}
	for _, c := range closings {
		closed[c.ReviewID] = true
	}
	for _, x := range reviews {
		if !closed[x.ID] {
			m.put(x.EntryID, MarkInReview)
		}
	}
	return err
}
