package store

import (
	"context"
	"errors"
	"strings"

	"groundhand/internal/groundhand"
)

// Evidence gives everything recorded about workers that may bear on their standing, nil meaning everybody, in no order that
// means anything. Replaced and withdrawn entries are there too, with the corrections that moved an entry of theirs to another worker and all
// withdrawals that bear on any of it, those of whole runs too: the rules decide what counts. For very many workers ask in portions.
func (s *Store) Evidence(ctx context.Context, workers []groundhand.WorkerID) (groundhand.Evidence, error) {
	var e groundhand.Evidence
	if workers != nil && len(workers) == 0 {
		return e, nil
	}
	err := s.InSnapshot(ctx, func(seen *Store) error {
		g := gathering{ctx: ctx, s: seen, everybody: workers == nil, keys: jsonKeys(seen.SamePerson(workers...))}
		e.Practices = gatherPractices(&g)
		for _, p := range e.Practices {
			g.ids = append(g.ids, groundhand.EntryID(p.RunID)) // a run withdrawn as a whole takes its parts with it
		}
		e.Assessments = gather[groundhand.Assessment](&g, ByWorker)
		e.Outside = gather[groundhand.OutsideEvidence](&g, ByWorker)
		e.Suspensions = gather[groundhand.Suspension](&g, ByWorker)
		e.Liftings = gather[groundhand.Lifting](&g, ByWorker)
		e.Extensions = gather[groundhand.Extension](&g, ByWorker)
		e.Provisionals = gather[groundhand.Provisional](&g, ByWorker)
		e.Unavailabilities = gather[groundhand.Unavailability](&g, ByWorker)
		e.Gradings = gather[groundhand.Grading](&g, ByWorker)
		e.Authorities = gather[groundhand.Authority](&g, ByAssessor)
		e.Withdrawals = g.withdrawals()
		return g.err
	})
	return e, err
}

// gathering reads the kinds of evidence one after another and keeps their ids, for the withdrawals; after an error it reads no more.
type gathering struct {
	ctx       context.Context
	s         *Store
	everybody bool
	keys      string // the workers
	ids       []groundhand.EntryID
	err       error
}

func gather[T any](g *gathering, by Field) []T {
	t, err := tableOf[T]()
	if err != nil {
		g.err = err
		return nil
	}
	return gatherFrom[T](g, t, t, "SELECT "+t.ordered("e")+" FROM "+t.name+" e", by)
}

// gatherPractices reads the parts with the facts of their runs.
func gatherPractices(g *gathering) []groundhand.Practice {
	practice, err := tableOf[groundhand.Practice]()
	part, err2 := tableOf[groundhand.RunPart]()
	if err = errors.Join(err, err2); err != nil {
		g.err = err
		return nil
	}
	columns := make([]string, len(practice.columns))
	for i, c := range practice.columns {
		columns[i] = "r." + c
		if part.has(c) {
			columns[i] = "e." + c
		}
	}
	return gatherFrom[groundhand.Practice](g, practice, part, "SELECT "+strings.Join(columns, ", ")+" FROM run_parts e JOIN runs r ON r.id = e.run_id", ByWorker)
}

// gatherFrom reads what a SELECT over an entry table e finds for the workers, and the corrections that left them.
func gatherFrom[T any](g *gathering, t, entries table, from string, by Field) []T {
	if g.everybody {
		return read[T](g, t, from)
	}
	rows := read[T](g, t, from+" WHERE e."+string(by)+" IN (SELECT value FROM json_each(?))", g.keys)
	if len(rows) == 0 || g.err != nil {
		return nil
	}
	marks := marksOf(t, rows)
	ids := idsOf(marks)
	g.ids = append(g.ids, ids...)
	corrections, err := g.s.corrections(g.ctx, entries, ids)
	if err != nil {
		g.err = err
		return nil
	}
	moved := notAmong(ids, corrections)
	if len(moved) == 0 {
		return rows
	}
	g.ids = append(g.ids, moved...)
	rows = append(rows, read[T](g, t, from+" WHERE e.id IN (SELECT value FROM json_each(?))", jsonKeys(moved))...)
	return rows
}

func read[T any](g *gathering, t table, query string, args ...any) []T {
	if g.err != nil {
		return nil
	}
	rows, err := rowsOf[T](g.s, t, g.s.read.WithContext(g.ctx).Raw(query, args...))
	g.err = err
	return rows
}

func (g *gathering) withdrawals() []groundhand.Withdrawal {
	if g.err != nil {
		return nil
	}
	var out []groundhand.Withdrawal
	if g.everybody {
		out, g.err = All[groundhand.Withdrawal](g.ctx, g.s)
	} else {
		out, g.err = g.s.withdrawals(g.ctx, g.ids)
	}
	return out
}

// notAmong gives the corrections that are not themselves among ids.
func notAmong(ids []groundhand.EntryID, corrections []groundhand.Mark) (out []groundhand.EntryID) {
	if len(corrections) == 0 {
		return nil
	}
	own := map[groundhand.EntryID]bool{}
	for _, id := range ids {
		own[id] = true
	}
	for _, c := range corrections {
		if !own[c.ID] {
			out = append(out, c.ID)
		}
	}
	return out
}
