package training

import (
	"context"
	"strconv"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// mostYears is the last year of an apprentice.
const mostYears = 6

var grades = []groundhand.Grade{groundhand.Qualified, groundhand.Apprentice, groundhand.Ground, groundhand.Office}

var relations = []groundhand.Relation{groundhand.Employee, groundhand.ResidentContractor, groundhand.Visitor}

// WorkerForm brings a new person into the records with what HR knows on the first day.
type WorkerForm struct {
	Entry
	FromOn   groundhand.Date // first day here
	Name     string
	Number   string // staff number; nobody else has it
	Employer string
	Relation groundhand.Relation
	Grade    groundhand.Grade
	Year     int // year of an apprentice, 1 to 6
	YardID   groundhand.YardID
}

// AddWorker enters a person and, as records of their own, name, employment, grade and home yard. A person is never replaced: names,
// grades and the rest are corrected one by one.
func (d *Desk) AddWorker(ctx context.Context, by groundhand.Account, key string, f WorkerForm) (groundhand.Worker, error) {
	return once(ctx, d, by, key, act{name: "addWorker", may: access.ManageWorkers}, f, one[groundhand.Worker])
}

func (f WorkerForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	c.dayGiven("fromOn", f.FromOn, c.horizon(mostHorizon))
	c.name("name", f.Name)
	c.name("number", f.Number)
	c.name("employer", f.Employer)
	oneOf(c, "relation", f.Relation, relations...)
	c.grade(f.Grade, f.Year)
	c.id("yardId", string(f.YardID))
}

func (f WorkerForm) enter(in *entering) groundhand.Worker {
	known[groundhand.Yard](in, "yard", at("yardId", f.YardID))
	in.numberFree("number", f.Number)
	told := in.told(f.Entry, When{On: f.FromOn})
	w := groundhand.Worker{ID: groundhand.WorkerID(in.tx.NewID()), Recorded: told, Number: f.Number}
	add(in, w)
	add(in, groundhand.WorkerName{ID: entryID(in), Recorded: told, WorkerID: w.ID, Name: f.Name})
	add(in, groundhand.Employment{ID: entryID(in), Recorded: told, WorkerID: w.ID, Employer: f.Employer, Relation: f.Relation, FromOn: f.FromOn})
	add(in, groundhand.Grading{ID: entryID(in), Recorded: told, WorkerID: w.ID, Grade: f.Grade, Year: f.Year})
	add(in, groundhand.Posting{ID: entryID(in), Recorded: told, WorkerID: w.ID, YardID: f.YardID})
	result(in, w.ID)
	return w
}

// numberFree refuses a staff number that somebody has.
func (in *entering) numberFree(field, number string) {
	if number == "" {
		return
	}
	holders, err := store.FindStanding[groundhand.Worker](in.ctx, in.tx, store.ByNumber, []string{number})
	if !in.failed(err) && len(holders) > 0 {
		in.Add(groundhand.CodeConflict, field, "Somebody has the staff number %s already.", quoted(number))
	}
}

func (c *fields) grade(g groundhand.Grade, year int) {
	oneOf(c, "grade", g, grades...)
	switch {
	case g == groundhand.Apprentice:
		c.number("year", year, 1, mostYears)
	case year != 0:
		c.wrong("year", "Only an apprentice has a year; leave out %s.", strconv.Itoa(year))
	}
}

// NameForm gives a person another name from a day on.
type NameForm struct {
	Entry
	FromOn   groundhand.Date
	WorkerID groundhand.WorkerID
	Name     string
}

// RenameWorker enters the name of a person from a day on; the earlier name stays true for the days before.
func (d *Desk) RenameWorker(ctx context.Context, by groundhand.Account, key string, f NameForm) (groundhand.WorkerName, error) {
	return once(ctx, d, by, key, act{name: "renameWorker", may: access.ManageWorkers}, f, one[groundhand.WorkerName])
}

func (f NameForm) check(c *fields) {
	f.Entry.check(c)
	c.dayGiven("fromOn", f.FromOn, c.horizon(mostHorizon))
	c.id("workerId", string(f.WorkerID))
	c.name("name", f.Name)
}

func (f NameForm) enter(in *entering) groundhand.WorkerName {
	correct[groundhand.WorkerName](in, "name", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID))
	n := groundhand.WorkerName{ID: entryID(in), Recorded: in.told(f.Entry, When{On: f.FromOn}), WorkerID: f.WorkerID, Name: f.Name}
	add(in, n)
	result(in, n.ID)
	return n
}

// GradeForm gives a person another grade from a day on.
type GradeForm struct {
	Entry
	FromOn   groundhand.Date
	WorkerID groundhand.WorkerID
	Grade    groundhand.Grade
	Year     int // year of an apprentice, 1 to 6
}

// GradeWorker enters the grade of a person from a day on.
func (d *Desk) GradeWorker(ctx context.Context, by groundhand.Account, key string, f GradeForm) (groundhand.Grading, error) {
	return once(ctx, d, by, key, act{name: "gradeWorker", may: access.ManageWorkers}, f, one[groundhand.Grading])
}

func (f GradeForm) check(c *fields) {
	f.Entry.check(c)
	c.dayGiven("fromOn", f.FromOn, c.horizon(mostHorizon))
	c.id("workerId", string(f.WorkerID))
	c.grade(f.Grade, f.Year)
}

func (f GradeForm) enter(in *entering) groundhand.Grading {
	correct[groundhand.Grading](in, "grade", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID))
	g := groundhand.Grading{ID: entryID(in), Recorded: in.told(f.Entry, When{On: f.FromOn}), WorkerID: f.WorkerID, Grade: f.Grade, Year: f.Year}
	add(in, g)
	result(in, g.ID)
	return g
}

// PostForm gives a person another home yard from a day on.
type PostForm struct {
	Entry
	FromOn   groundhand.Date
	WorkerID groundhand.WorkerID
	YardID   groundhand.YardID
}

// PostWorker enters the home yard of a person from a day on.
func (d *Desk) PostWorker(ctx context.Context, by groundhand.Account, key string, f PostForm) (groundhand.Posting, error) {
	return once(ctx, d, by, key, act{name: "postWorker", may: access.ManageWorkers}, f, one[groundhand.Posting])
}

func (f PostForm) check(c *fields) {
	f.Entry.check(c)
	c.dayGiven("fromOn", f.FromOn, c.horizon(mostHorizon))
	c.id("workerId", string(f.WorkerID))
	c.id("yardId", string(f.YardID))
}

func (f PostForm) enter(in *entering) groundhand.Posting {
	correct[groundhand.Posting](in, "home yard", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID))
	known[groundhand.Yard](in, "yard", at("yardId", f.YardID))
	p := groundhand.Posting{ID: entryID(in), Recorded: in.told(f.Entry, When{On: f.FromOn}), WorkerID: f.WorkerID, YardID: f.YardID}
	add(in, p)
	result(in, p.ID)
	return p
}

// EmployForm is an employment over a time. That somebody leaves is a correction of the employment that gives it a last day.
type EmployForm struct {
	Entry
	FromOn   groundhand.Date
	ToOn     groundhand.Date // last day; empty: still
	WorkerID groundhand.WorkerID
	Employer string
	Relation groundhand.Relation
}

// EmployWorker enters an employment.
func (d *Desk) EmployWorker(ctx context.Context, by groundhand.Account, key string, f EmployForm) (groundhand.Employment, error) {
	return once(ctx, d, by, key, act{name: "employWorker", may: access.ManageWorkers}, f, one[groundhand.Employment])
}

func (f EmployForm) check(c *fields) {
	f.Entry.check(c)
	c.stretch("fromOn", "toOn", f.FromOn, f.ToOn)
	c.id("workerId", string(f.WorkerID))
	c.name("employer", f.Employer)
	oneOf(c, "relation", f.Relation, relations...)
}

func (f EmployForm) enter(in *entering) groundhand.Employment {
	correct[groundhand.Employment](in, "employment", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID))
	e := groundhand.Employment{
		ID: entryID(in), Recorded: in.told(f.Entry, When{On: f.FromOn}), WorkerID: f.WorkerID,
		Employer: f.Employer, Relation: f.Relation, FromOn: f.FromOn, ToOn: f.ToOn,
	}
	add(in, e)
	result(in, e.ID)
	return e
}

// UnavailableForm says that a person cannot be sent, or does not count as a rescuer, for a time. The reason is kept apart for HR.
type UnavailableForm struct {
	Entry
	WorkerID groundhand.WorkerID
	Kind     groundhand.UnavailabilityKind
	FromAt   groundhand.Instant
	ToAt     groundhand.Instant // not included; empty: open end
	Reason   string             // for HR alone; empty: none kept
}

// SetUnavailable enters a time of absence or restriction. The reason, if any, is a record of its own that reaches no answer.
func (d *Desk) SetUnavailable(ctx context.Context, by groundhand.Account, key string, f UnavailableForm) (groundhand.Unavailability, error) {
	return once(ctx, d, by, key, act{name: "setUnavailable", may: access.ManageUnavailability}, f, one[groundhand.Unavailability])
}

func (f UnavailableForm) check(c *fields) {
	f.Entry.check(c)
	c.id("workerId", string(f.WorkerID))
	oneOf(c, "kind", f.Kind, groundhand.Leave, groundhand.Sick, groundhand.Course, groundhand.Rest, groundhand.Standby, groundhand.NotForRescue)
	c.momentGiven("fromAt", f.FromAt)
	c.moment("toAt", f.ToAt)
	c.order("toAt", f.FromAt, f.ToAt)
	c.remark("reason", f.Reason)
}

func (f UnavailableForm) enter(in *entering) groundhand.Unavailability {
	correct[groundhand.Unavailability](in, "absence", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID))
	told := in.told(f.Entry, When{At: f.FromAt})
	u := groundhand.Unavailability{ID: entryID(in), Recorded: told, WorkerID: f.WorkerID, Kind: f.Kind, FromAt: f.FromAt, ToAt: f.ToAt}
	add(in, u)
	if f.Reason != "" {
		told.ReplacesID, told.Because = "", ""
		add(in, groundhand.UnavailabilityReason{ID: entryID(in), Recorded: told, UnavailabilityID: u.ID, Reason: f.Reason})
	}
	result(in, u.ID)
	return u
}
