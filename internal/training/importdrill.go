package training

import (
	"fmt"
	"slices"
	"strings"

	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

var (
	runColumns = map[string]string{
		"sessionId": "session", "on": "date", "method": "method", "familyId": "family", "deviceId": "device", "complete": "complete", "watchedBy": "watched by",
	}
	partColumns = map[string]string{"workerId": "number", "role": "role"}
)

// A runRef is what makes rows parts of one run.
type runRef struct {
	on  groundhand.Date
	ref string
}

// enterDrills enters the runs of a file. Rows with the same day and reference are one run; a row without a reference is a run of its own.
func (im *importing) enterDrills() {
	im.openDirectory()
	families := im.deviceFamilies()
	im.rememberDrills()
	if im.failed(nil) {
		return
	}
	var runs [][]exchange.Drill
	at := map[runRef]int{}
	for i, row := range im.sheet.Drills {
		if row.Family == "" {
			row.Family = families(row.Device, row.On)
			im.sheet.Drills[i].Family = row.Family
		}
		if im.skips(row.Line) {
			continue
		}
		ref := runRef{row.On, row.Run}
		if i, ok := at[ref]; ok && row.Run != "" {
			runs[i] = append(runs[i], row)
			continue
		}
		at[ref] = len(runs)
		runs = append(runs, []exchange.Drill{row})
	}
	for _, rows := range runs {
		im.enterRun(rows)
	}
}

// deviceFamilies gives the family of a device as it was known on a day, because a run on a device is one on its family.
func (im *importing) deviceFamilies() func(groundhand.DeviceID, groundhand.Date) groundhand.FamilyID {
	devices, err := store.Standing[groundhand.Device](im.ctx, im.tx)
	im.failed(err)
	classings, err := store.Standing[groundhand.Classing](im.ctx, im.tx)
	im.failed(err)
	byID := map[groundhand.DeviceID]groundhand.Device{}
	for _, d := range devices {
		byID[d.ID] = d
	}
	return func(id groundhand.DeviceID, day groundhand.Date) groundhand.FamilyID {
		return classedBy(byID[id], classings, day)
	}
}

// rememberDrills notes what was recorded of those in the file, as far as a file can say it.
func (im *importing) rememberDrills() {
	parts, err := store.Find[groundhand.RunPart](im.ctx, im.tx, store.ByWorker, numbersOf(im, im.sheet.Drills, func(d exchange.Drill) string { return d.Number }))
	if im.failed(err) {
		return
	}
	var ids []groundhand.RunID
	for _, p := range parts {
		ids = append(ids, p.RunID)
	}
	slices.Sort(ids)
	found, err := store.Find[groundhand.Run](im.ctx, im.tx, store.ByID, slices.Compact(ids))
	if im.failed(err) {
		return
	}
	runs := map[groundhand.RunID]groundhand.Run{}
	for _, r := range found {
		runs[r.ID] = r
	}
	for _, p := range parts {
		if r := runs[p.RunID]; !r.Theory && !r.Stopped && !p.CriticalFail {
			im.remember(p.ID, drillForm(r.SessionID, RunForm{When: When{On: r.HappenedOn}, Method: r.Method, FamilyID: r.FamilyID, DeviceID: r.DeviceID,
				Complete: r.Complete, WatchedBy: r.WatchedBy, Marks: r.Marks}, PartForm{WorkerID: p.WorkerID, Role: p.Role}))
		}
	}
}

// drillForm is the form of one run as a file can give it.
func drillForm(session groundhand.SessionID, r RunForm, parts ...PartForm) DrillForm {
	r.Entry, r.Parts = imported, parts
	if len(r.Marks) == 0 {
		r.Marks = nil // no marks read the same whether they come from the records or from a file
	}
	return DrillForm{session, []RunForm{r}}
}

func (im *importing) runForm(row exchange.Drill) RunForm {
	return RunForm{When: When{On: row.On}, Method: row.Method, FamilyID: row.Family, DeviceID: row.Device, Complete: row.Complete,
		WatchedBy: im.worker(row.WatchedBy), Marks: row.Marks}
}

func (im *importing) part(row exchange.Drill) PartForm {
	return PartForm{WorkerID: im.worker(row.Number), Role: row.Role}
}

func (im *importing) enterRun(rows []exchange.Drill) {
	var known, fresh []exchange.Drill
	for _, row := range rows {
		if im.isKnown(row.Line, drillForm(row.Session, im.runForm(row), im.part(row))) {
			known = append(known, row)
		} else {
			fresh = append(fresh, row)
		}
	}
	if len(fresh) == 0 {
		return
	}
	a, entered := im.attempt(func(a *attempt) {
		if len(known) > 0 {
			a.lateToRun(fresh, known[0])
			return
		}
		a.run(fresh)
	})
	if !entered {
		im.refuseWith(fresh)
		return
	}
	for i, row := range fresh {
		im.isNew(row.Line, a.made[1+i]) // the run comes first, then the parts
	}
}

// lateToRun refuses people who are said to have been in a run that is recorded without them.
func (a *attempt) lateToRun(rows []exchange.Drill, known exchange.Drill) {
	for _, row := range rows {
		a.refuse(row.Line, groundhand.CodeConflict, "run", "The run of this row is in the records already, from row %d, without this part. Add the person to that run by hand.", known.Row)
	}
}

// refuseWith refuses the rows of a run of which another row was refused: a run is recorded with all who were in it.
func (im *importing) refuseWith(rows []exchange.Drill) {
	refused := map[int]bool{}
	for _, r := range im.seen.Refusals {
		refused[r.Row] = true
	}
	for _, row := range rows {
		if !refused[row.Row] && !im.failed(nil) {
			im.seen.Refusals = append(im.seen.Refusals, row.Refuse(groundhand.CodeConflict, "run", "Another row of this run is refused; a run is recorded with all who were in it."))
		}
	}
}

func (a *attempt) run(rows []exchange.Drill) {
	first := rows[0]
	var parts []PartForm
	for _, row := range rows {
		a.person(row.Line, "number", row.Number)
		a.person(row.Line, "watched by", row.WatchedBy)
		a.named(row.Line, row.Number, row.Name)
		a.sameRun(row, first)
		parts = append(parts, a.im.part(row))
	}
	submit(a, drillForm(first.Session, a.im.runForm(first), parts...), func(field string) (exchange.Line, string) { return whereInRun(rows, field) })
}

// sameRun refuses rows of one run that tell different things about it.
func (a *attempt) sameRun(row, first exchange.Drill) {
	differ := func(column string, same bool) {
		if !same {
			a.refuse(row.Line, groundhand.CodeConflict, column, "Row %d belongs to the same run and says otherwise here.", first.Row)
		}
	}
	differ("method", row.Method == first.Method)
	differ("family", row.Family == first.Family)
	differ("device", row.Device == first.Device)
	differ("session", row.Session == first.Session)
	differ("complete", row.Complete == first.Complete)
	differ("watched by", row.WatchedBy == first.WatchedBy)
	for s := groundhand.S0; s <= groundhand.S10; s++ {
		mine, marked := row.Marks.At(s)
		theirs, also := first.Marks.At(s)
		differ(fmt.Sprintf("s%d", s), mine == theirs && marked == also)
	}
}

// whereInRun tells row and column of a field of the form: what concerns the run as a whole stands in its first row.
func whereInRun(rows []exchange.Drill, field string) (exchange.Line, string) {
	field = strings.TrimPrefix(field, "runs[0].")
	var i int
	if _, err := fmt.Sscanf(field, "parts[%d]", &i); err == nil && i < len(rows) {
		_, name, _ := strings.Cut(field, ".")
		return rows[i].Line, partColumns[name]
	}
	return rows[0].Line, runColumns[field]
}
