package competence

import (
	"math"
)

// Decode reads facts in the standing-facts/1 format and checks them. The error is a *groundhand.Error: the first fault, its Field
// naming the entry, line, rule set or question.
func Decode(in []byte) (Facts, error) {
	file := openFile(in)
	if format := file.text("format"); format != Format {
		file.fail("The format must be %s.", Format)
	}
	f := Facts{Name: file.text("name"), Zone: file.mustText("zone")}
	file.each("rule_sets", "rule set", func(o object) { f.RuleSets = append(f.RuleSets, readRuleSet(o)) })
	file.each("entries", "entry", func(o object) { f.Entries = append(f.Entries, readEntry(o)) })
	file.each("questions", "question", func(o object) { f.Questions = append(f.Questions, readQuestion(o)) })
	if *file.first != nil {
		return Facts{}, *file.first
	}
	if err := Check(f); err != nil {
		return Facts{}, err
	}
	return f, nil
}

func readRuleSet(o object) RuleSet {
	s := RuleSet{
		ID: o.text("id"), Default: o.flag("default"),
		EffectiveFrom: o.mustDay("effective_from"), EffectiveThrough: o.day("effective_through"),
	}
	o.each("lines", "line", func(o object) { s.Lines = append(s.Lines, readLine(o)) })
	return s
}

func readLine(o object) Line {
	o.must("accepts")
	l := Line{
		ID: o.text("id"), Method: o.mustText("method"), Role: o.mustText("role"), AlsoMethods: o.texts("also_methods"),
		PerFamily: o.flag("per_family"), Interval: readInterval(o), LastGoodDay: Convention(o.mustText("last_good_day")),
		EarlyWindowDays: o.number("early_window_days", 0, 0, maxDays), Accepts: o.texts("accepts"), OutsideLevel: o.text("outside_level"),
		MinimumRuns:   o.number("minimum_runs", 0, 0, math.MaxInt32),
		AbsenceMonths: o.number("absence_months", 0, 1, maxAbsence), MaxExtensions: o.number("max_extensions", 0, 0, math.MaxInt32),
		Provisional: o.flag("provisional"), Citation: o.text("citation"), CitationKind: o.text("citation_kind"),
	}
	o.read("barred_years", &l.BarredYears, "a list of whole numbers")
	return l
}

func readInterval(o object) Interval {
	o.must("interval")
	in := o.inner("interval")
	if in.has("months") == in.has("days") {
		in.fail("The interval must be a number of months or a number of days.")
	}
	return Interval{Months: in.number("months", 0, 1, maxMonths), Days: in.number("days", 0, 1, maxDays)}
}

// readEntry reads what every entry has and then the fields of its kind.
func readEntry(o object) Entry {
	e := Entry{ID: o.text("id"), Kind: Kind(o.mustText("kind")), RecordedAt: o.mustInstant("recorded_at"), Author: o.mustText("author")}
	if e.Kind == Withdrawal {
		e.Withdraws = o.mustText("withdraws")
		return e
	}
	e.Person, e.Replaces = o.mustText("person"), o.text("replaces")
	e.HappenedOn, e.HappenedAt = o.day("happened_on"), o.instant("happened_at")
	if read, known := readKind[e.Kind]; known {
		read(o, &e)
	}
	return e
}

// readKind has the fields of each kind but a withdrawal. Whether their words are known is for Check.
var readKind = map[Kind]func(object, *Entry){
	Run: func(o object, e *Entry) {
		readTask(o, e)
		e.Complete, e.CriticalFail, e.Theory = o.flag("complete"), o.flag("critical_fail"), o.flag("theory")
		e.WatchedBy = o.text("watched_by")
	},
	Assessment: func(o object, e *Entry) {
		readTask(o, e)
		e.Result, e.Critical, e.Theory = o.mustText("result"), o.flag("critical"), o.flag("theory")
		e.Assessor, e.OfRun = o.text("assessor"), o.text("of_run")
	},
	Outside: func(o object, e *Entry) {
		readTask(o, e)
		e.Issuer, e.Level, e.Checker = o.text("issuer"), o.mustText("level"), o.text("checker")
	},
	Suspension: readTask,
	Lifting: func(o object, e *Entry) {
		e.Lifts, e.ByPass = o.mustText("lifts"), o.mustText("by_pass")
	},
	Extension: func(o object, e *Entry) {
		readTask(o, e)
		readPeriod(o, e)
		e.Approver = o.text("approver")
	},
	Provisional: func(o object, e *Entry) {
		readTask(o, e)
		readPeriod(o, e)
	},
	Away: readPeriod,
	Grade: func(o object, e *Entry) {
		e.Grade, e.Year = o.mustText("grade"), o.number("year", 0, 0, math.MaxInt32)
	},
	Authority: func(o object, e *Entry) {
		readPeriod(o, e)
		o.must("methods")
		e.Methods, e.Families = o.texts("methods"), o.texts("families")
	},
}

func readTask(o object, e *Entry) {
	e.Method, e.Role, e.Family = o.mustText("method"), o.text("role"), o.text("family")
}

func readPeriod(o object, e *Entry) { e.From, e.To = o.mustDay("from"), o.day("to") }

func readQuestion(o object) Question {
	q := Question{
		ID: o.text("id"), Person: o.mustText("person"), Method: o.mustText("method"), Role: o.mustText("role"), Family: o.text("family"),
		On: o.day("on"), At: o.instant("at"), AsKnownAt: o.instant("as_known_at"), RuleSet: o.text("rule_set"),
	}
	if course := o.inner("course"); o.has("course") {
		q.Course = Period{course.mustDay("from"), course.mustDay("through")}
	}
	return q
}

// AnswerFile reads facts and writes answers, both in their published formats. Nothing is written of faulty facts.
func AnswerFile(in []byte) ([]byte, error) {
	facts, err := Decode(in)
	if err != nil {
		return nil, err
	}
	answers, err := facts.Answers()
	if err != nil {
		return nil, err
	}
	return answers.Encode()
}

// Answers answers every question of the facts, in their order.
func (f Facts) Answers() (Answers, error) {
	book, err := NewBook(f)
	if err != nil {
		return Answers{}, err
	}
	out := Answers{Facts: f.Name, Answers: make([]Answer, 0, len(f.Questions))}
	for _, q := range f.Questions {
		a, err := book.Standing(q)
		if err != nil {
			return Answers{}, err
		}
		out.Answers = append(out.Answers, a)
	}
	return out, nil
}
