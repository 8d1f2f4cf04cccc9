package training

import (
	"fmt"
	"slices"
	"strings"

	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// imported is how every entry of an import came in.
var imported = Entry{CameBy: groundhand.Imported}

// inRow says that all fields of a form stand in one row, under the columns given; another field means the whole row.
func inRow(l exchange.Line, columns map[string]string) func(string) (exchange.Line, string) {
	return func(field string) (exchange.Line, string) { return l, columns[field] }
}

// enterRow enters what one row says, unless it is known.
func (im *importing) enterRow(l exchange.Line, same any, do func(a *attempt)) {
	if im.isKnown(l, same) {
		return
	}
	if a, ok := im.attempt(do); ok {
		im.isNew(l, a.made[0])
	}
}

// A directory finds people by staff number and knows every name they ever had.
type directory struct {
	byNumber map[string][]groundhand.WorkerID
	names    map[groundhand.WorkerID][]string
}

func (im *importing) openDirectory() {
	im.people = directory{map[string][]groundhand.WorkerID{}, map[groundhand.WorkerID][]string{}}
	workers, err := store.Standing[groundhand.Worker](im.ctx, im.tx)
	if im.failed(err) {
		return
	}
	names, err := store.Standing[groundhand.WorkerName](im.ctx, im.tx)
	if im.failed(err) {
		return
	}
	for _, w := range workers {
		im.people.byNumber[w.Number] = append(im.people.byNumber[w.Number], w.ID)
	}
	for _, n := range names {
		im.people.names[n.WorkerID] = append(im.people.names[n.WorkerID], n.Name)
	}
}

// worker finds who a staff number means; empty when it means nobody or could mean several.
func (im *importing) worker(number string) groundhand.WorkerID {
	if found := im.people.byNumber[number]; len(found) == 1 && number != "" {
		return found[0]
	}
	return ""
}

// person refuses a staff number that does not mean one person.
func (a *attempt) person(l exchange.Line, column, number string) {
	switch n := len(a.im.people.byNumber[number]); {
	case number == "" || n == 1:
	case n == 0:
		a.refuse(l, groundhand.CodeNotFound, column, "Nobody has the staff number %s.", quoted(number))
	default:
		a.refuse(l, groundhand.CodeConflict, column, "%d people have had the staff number %s; this row has to be entered by hand.", n, quoted(number))
	}
}

// named refuses a name that the person with the number beside it never had: one of the two is wrong, and which cannot be known.
func (a *attempt) named(l exchange.Line, number, name string) {
	id := a.im.worker(number)
	same := func(known string) bool { return strings.EqualFold(known, name) }
	if id != "" && name != "" && !slices.ContainsFunc(a.im.people.names[id], same) {
		a.refuse(l, groundhand.CodeConflict, "name", "The person with the staff number %s has another name in the records. Correct the number or the name.", quoted(number))
	}
}

var peopleColumns = map[string]string{
	"name": "name", "number": "number", "employer": "employer", "relation": "relation", "grade": "grade", "year": "year", "yardId": "yard", "fromOn": "from",
}

func (im *importing) enterPeople() {
	im.rememberPeople()
	for _, row := range im.sheet.People {
		if im.skips(row.Line) {
			continue
		}
		f := WorkerForm{imported, row.FromOn, row.Name, row.Number, row.Employer, row.Relation, row.Grade, row.Year, row.Yard}
		im.enterRow(row.Line, f, func(a *attempt) { submit(a, f, inRow(row.Line, peopleColumns)) })
	}
}

// rememberPeople notes what was entered about those whose number is in the file when they were entered; what was corrected since does
// not make them other people.
func (im *importing) rememberPeople() {
	var numbers []string
	for _, row := range im.sheet.People {
		numbers = append(numbers, row.Number)
	}
	workers, err := store.Find[groundhand.Worker](im.ctx, im.tx, store.ByNumber, numbers)
	if im.failed(err) {
		return
	}
	var ids []groundhand.WorkerID
	for _, w := range workers {
		ids = append(ids, w.ID)
	}
	names := firstOf(im, ids, func(n groundhand.WorkerName) groundhand.WorkerID { return n.WorkerID })
	jobs := firstOf(im, ids, func(e groundhand.Employment) groundhand.WorkerID { return e.WorkerID })
	grades := firstOf(im, ids, func(g groundhand.Grading) groundhand.WorkerID { return g.WorkerID })
	yards := firstOf(im, ids, func(p groundhand.Posting) groundhand.WorkerID { return p.WorkerID })
	for _, w := range workers {
		job, grade := jobs[w.ID], grades[w.ID]
		im.remember(groundhand.EntryID(w.ID), WorkerForm{imported, w.HappenedOn, names[w.ID].Name, w.Number, job.Employer, job.Relation, grade.Grade, grade.Year, yards[w.ID].YardID})
	}
}

// firstOf gives the record that was made first for each worker.
func firstOf[T any](im *importing, ids []groundhand.WorkerID, of func(T) groundhand.WorkerID) map[groundhand.WorkerID]T {
	out := map[groundhand.WorkerID]T{}
	rows, err := store.Find[T](im.ctx, im.tx, store.ByWorker, ids)
	if im.failed(err) {
		return out
	}
	for _, r := range slices.Backward(rows) {
		out[of(r)] = r
	}
	return out
}

var (
	placeColumns = map[string]string{"crewId": "crew", "workerId": "number", "part": "part", "reason": "reason", "fromOn": "from", "toOn": "to"}
	crewColumns  = map[string]string{"id": "crew", "name": "crew", "yardId": "yard", "kind": "kind", "normalSize": "normal size", "on": "from"}
)

func (im *importing) enterPlaces() {
	im.openDirectory()
	memberships, err := store.Find[groundhand.Membership](im.ctx, im.tx, store.ByWorker, numbersOf(im, im.sheet.Crews, func(p exchange.CrewPlace) string { return p.Number }))
	if im.failed(err) {
		return
	}
	for _, m := range memberships {
		im.remember(m.ID, MembershipForm{imported, m.CrewID, m.WorkerID, m.Part, m.Reason, m.FromOn, m.ToOn, m.FromAt, m.ToAt})
	}
	for _, row := range im.sheet.Crews {
		if !im.skips(row.Line) {
			im.enterPlace(row)
		}
	}
}

func (im *importing) enterPlace(row exchange.CrewPlace) {
	f := MembershipForm{Entry: imported, CrewID: row.Crew, WorkerID: im.worker(row.Number), Part: row.Part, Reason: row.Reason, FromOn: row.FromOn, ToOn: row.ToOn}
	im.enterRow(row.Line, f, func(a *attempt) {
		a.person(row.Line, "number", row.Number)
		a.named(row.Line, row.Number, row.Name)
		a.crew(row)
		submit(a, f, inRow(row.Line, placeColumns))
	})
}

// crew enters the crew of a row when nobody has it yet and the row says enough, and refuses a row that says otherwise than the records.
func (a *attempt) crew(row exchange.CrewPlace) {
	found, err := store.FindStanding[groundhand.Crew](a.im.ctx, a.im.tx, store.ByID, []groundhand.CrewID{row.Crew})
	if a.im.failed(err) {
		return
	}
	switch {
	case len(found) > 0:
		a.sameCrew(row, found[0])
	case row.Yard == "" || row.Kind == "" || row.NormalSize == 0:
		a.refuse(row.Line, groundhand.CodeNotFound, "crew", "There is no crew %s. To enter it, give its yard, kind and normal size.", quoted(string(row.Crew)))
	default:
		on := min(row.FromOn, groundhand.DateOf(a.im.tx.Now().In(a.im.desk.roll.Zone())))
		f := CrewForm{Entry: imported, When: When{On: on}, ID: row.Crew, Name: string(row.Crew), YardID: row.Yard, Kind: row.Kind, NormalSize: row.NormalSize}
		submit(a, f, inRow(row.Line, crewColumns))
	}
}

func (a *attempt) sameCrew(row exchange.CrewPlace, crew groundhand.Crew) {
	other := func(column, is string) {
		a.refuse(row.Line, groundhand.CodeConflict, column, "Crew %s is in the records with %s here. Correct the row, or the crew.", crew.ID, is)
	}
	if row.Yard != "" && row.Yard != crew.YardID {
		other("yard", string(crew.YardID))
	}
	if row.Kind != "" && row.Kind != crew.Kind {
		other("kind", string(crew.Kind))
	}
	if row.NormalSize != 0 && row.NormalSize != crew.NormalSize {
		other("normal size", fmt.Sprint(crew.NormalSize))
	}
}

// numbersOf gives the people whose staff numbers stand in rows.
func numbersOf[T any](im *importing, rows []T, number func(T) string) []groundhand.WorkerID {
	var out []groundhand.WorkerID
	seen := map[groundhand.WorkerID]bool{"": true}
	for _, r := range rows {
		if id := im.worker(number(r)); !seen[id] {
			seen[id] = true
			out = append(out, id)
		}
	}
	return out
}

var assessmentColumns = map[string]string{
	"on": "date", "workerId": "number", "method": "method", "role": "role", "familyId": "family", "result": "result", "assessorId": "assessor",
	"steps[0].step": "failed step", "steps[0].done": "failed step",
}

func (im *importing) enterAssessments() {
	im.openDirectory()
	before, err := store.Find[groundhand.Assessment](im.ctx, im.tx, store.ByWorker, numbersOf(im, im.sheet.Assessments, func(a exchange.Assessment) string { return a.Number }))
	if im.failed(err) {
		return
	}
	for _, a := range before {
		if !a.Theory {
			im.remember(a.ID, assessmentForm(a.HappenedOn, a.WorkerID, a.Method, a.Role, a.FamilyID, a.Result, a.AssessorID, a.Steps.Failed()))
		}
	}
	for _, row := range im.sheet.Assessments {
		if im.skips(row.Line) {
			continue
		}
		f := assessmentForm(row.On, im.worker(row.Number), row.Method, row.Role, row.Family, row.Result, im.worker(row.Assessor), row.FailedStep)
		im.enterRow(row.Line, f, func(a *attempt) {
			a.person(row.Line, "number", row.Number)
			a.person(row.Line, "assessor", row.Assessor)
			a.named(row.Line, row.Number, row.Name)
			submit(a, f, inRow(row.Line, assessmentColumns))
		})
	}
}

func assessmentForm(on groundhand.Date, w groundhand.WorkerID, m groundhand.Method, r groundhand.Role, family groundhand.FamilyID,
	result groundhand.AssessmentResult, assessor groundhand.WorkerID, failed string) AssessmentForm {
	f := AssessmentForm{Entry: imported, When: When{On: on}, WorkerID: w, Method: m, Role: r, FamilyID: family, Result: result, AssessorID: assessor}
	if failed != "" {
		f.Steps = groundhand.CriticalSteps{{Step: failed, Done: groundhand.StepNo}}
	}
	return f
}
