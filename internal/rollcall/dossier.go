package rollcall

import (
	"context"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
)

// dossier is the facts of some workers together with those of everybody on whose word they rest: a pass counts only if the assessor
// was current that day, whose own pass rests on another assessor, and so on to the end.
type dossier struct {
	roll  *Roll
	shelf shelf
	sheet sheet

	gradings    []groundhand.Grading
	away        []groundhand.Unavailability
	withdrawals []groundhand.Withdrawal
}

func (r *Roll) dossier(sh shelf) *dossier {
	return &dossier{roll: r, shelf: sh, sheet: sheet{roll: r, parts: map[string][]string{}, asked: map[groundhand.WorkerID]bool{}, seen: map[string]bool{}}}
}

// take loads the evidence of workers and of the assessors it names, in as many rounds as the chain of assessors is long. Nobody is loaded twice.
func (d *dossier) take(ctx context.Context, workers []groundhand.WorkerID) error {
	for workers = d.fresh(workers); len(workers) > 0; {
		ev, err := d.roll.store.Evidence(ctx, workers)
		if err != nil {
			return err
		}
		d.sheet.all(ev)
		d.gradings, d.away, d.withdrawals = append(d.gradings, ev.Gradings...), append(d.away, ev.Unavailabilities...), append(d.withdrawals, ev.Withdrawals...)
		workers = d.fresh(ev.Assessors())
	}
	return nil
}

// fresh leaves out who is loaded and marks the rest.
func (d *dossier) fresh(workers []groundhand.WorkerID) []groundhand.WorkerID {
	var out []groundhand.WorkerID
	for _, w := range workers {
		if w != "" && !d.sheet.asked[w] {
			d.sheet.asked[w] = true
			out = append(out, w)
		}
	}
	return out
}

// dead lists the gradings and absences that were replaced or withdrawn.
func (d *dossier) dead() map[groundhand.EntryID]bool {
	var marks []groundhand.Mark
	for _, g := range d.gradings {
		marks = append(marks, groundhand.Mark{ID: g.ID, Replaces: g.ReplacesID})
	}
	for _, u := range d.away {
		marks = append(marks, groundhand.Mark{ID: u.ID, Replaces: u.ReplacesID})
	}
	return groundhand.Dead(marks, d.withdrawals)
}

// factsName is what an export calls itself.
const factsName = "groundhand"

func (d *dossier) facts() competence.Facts {
	d.sheet.entries = tidy(d.sheet.entries)
	return competence.Facts{Name: factsName, Zone: d.roll.zone.String(), RuleSets: d.shelf.facts(), Entries: d.sheet.entries}
}

func (d *dossier) book() (*competence.Book, error) { return competence.NewBook(d.facts()) }

// book loads the facts of workers and opens them.
func (r *Roll) book(ctx context.Context, sh shelf, workers []groundhand.WorkerID) (*competence.Book, error) {
	d := r.dossier(sh)
	if err := d.take(ctx, workers); err != nil {
		return nil, err
	}
	return d.book()
}

// Facts gives everything that an answer about these workers is made from, with the records of those on whose word it rests. With
// questions added it is a complete standing-facts/1 file.
func (r *Roll) Facts(ctx context.Context, workers []groundhand.WorkerID) (competence.Facts, error) {
	sh, err := r.shelf(ctx)
	if err != nil {
		return competence.Facts{}, err
	}
	d := r.dossier(sh)
	if err := d.take(ctx, workers); err != nil {
		return competence.Facts{}, err
	}
	return d.facts(), nil
}
