package readiness

import (
	"encoding/json"
	"time"

	"groundhand/internal/groundhand"
)

// AnswerFormat is the format of an answer's file.
const AnswerFormat = "cover-answer/1"

// Answer is the verdict over a window, with everything it rests on. A caution belongs beside it wherever a person reads it.
// Only the orders of Timeline and of a choice's Roles carry meaning; all lists are sorted, so equal questions give equal answers.
type Answer struct {
	Question     string      `json:"question"` // the question's name
	Verdict      Verdict     `json:"verdict"`
	Timeline     []Stretch   `json:"timeline"` // without gap over the window
	HoldsUntil   HoldsUntil  `json:"holds_until"`
	Choices      []Choice    `json:"choices"` // those that are not NotReady; best first
	MayGoAloft   []Aloft     `json:"may_go_aloft"`
	MustStayDown []Down      `json:"must_stay_down"`
	Planned      *Planned    `json:"planned"` // nil when nobody was meant to go up
	NMinus1      *NMinus1    `json:"n_minus_1"`
	Findings     []Finding   `json:"findings"`
	Conditions   []Condition `json:"conditions"`
	Fixes        []Fix       `json:"fixes"`   // in the order of preference
	Refused      []Refused   `json:"refused"` // candidates of the pool that are in no fix
}

// MarshalJSON writes the cover-answer/1 format.
func (a Answer) MarshalJSON() ([]byte, error) {
	type plain Answer
	return json.Marshal(struct {
		Format string `json:"format"`
		plain
	}{AnswerFormat, plain(a)})
}

// Stretch is a part of the window in which verdict and classes stay the same.
type Stretch struct {
	From         LocalTime `json:"from"`
	To           LocalTime `json:"to"`
	Verdict      Verdict   `json:"verdict"`
	MayGoAloft   []string  `json:"may_go_aloft"`
	MustStayDown []string  `json:"must_stay_down"`
}

// LocalTime is an instant of the answer, written on the clock of the question's zone.
type LocalTime struct {
	At   groundhand.Instant
	Zone *time.Location
}

// MarshalText writes RFC 3339 with the offset in figures.
func (t LocalTime) MarshalText() ([]byte, error) { return []byte(clock(t.At, t.Zone)), nil }

// UnmarshalText reads RFC 3339; the zone is then a bare offset.
func (t *LocalTime) UnmarshalText(b []byte) error {
	read, err := time.Parse(time.RFC3339, string(b))
	*t = LocalTime{groundhand.InstantOf(read), read.Location()}
	return err
}

func (in *inquiry) local(at groundhand.Instant) LocalTime { return LocalTime{at, in.q.Window.Zone} }

// HoldsUntil says until when the answer holds: the verdict, and the two lists of people with it.
type HoldsUntil struct {
	Verdict LocalTime `json:"verdict"`
	Lists   LocalTime `json:"lists"`
	Then    *Verdict  `json:"then"`    // nil when the verdict holds to the end of the window
	Changes []Change  `json:"changes"` // what begins or ends at Lists; empty at the end of the window
}

// Change is one end of one span of somebody or something.
type Change struct {
	Edge EdgeName `json:"edge"`
	Of   Of       `json:"of"`
	ID   string   `json:"id"`
}

// Choice is one possible set of people aloft, with the method and the people below that stand over the whole window.
type Choice struct {
	Aloft      []string    `json:"aloft"`
	Class      Verdict     `json:"class"`
	Method     *string     `json:"method"` // nil: nobody aloft, not known, or no one team stands all through
	Roles      []RoleOf    `json:"roles"`
	Conditions []Condition `json:"conditions"`
}

// RoleOf is who fills a role.
type RoleOf struct {
	Role   Role   `json:"role"`
	Person string `json:"person"`
}

// Aloft is somebody who may go up, with the best class and the first choice that has it.
type Aloft struct {
	Person string   `json:"person"`
	Class  Verdict  `json:"class"`
	With   []string `json:"with"`
}

// Down is somebody who must stay down, and why.
type Down struct {
	Person  string  `json:"person"`
	Because Because `json:"because"`
}

// Planned is what was meant. Permitted is false when the plan is no choice at all: too many, too few, unable, or on another duty.
type Planned struct {
	Aloft     []string
	Class     Verdict
	Permitted bool
}

// MarshalJSON writes NOT_PERMITTED as the class of a plan that is no choice.
func (p Planned) MarshalJSON() ([]byte, error) {
	class := p.Class.String()
	if !p.Permitted {
		class = "NOT_PERMITTED"
	}
	return json.Marshal(struct {
		Aloft []string `json:"aloft"`
		Class string   `json:"class"`
	}{p.Aloft, class})
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (p *Planned) UnmarshalJSON(b []byte) error {
	var plan struct {
		Aloft []string
		Class string
	}
	if err := json.Unmarshal(b, &plan); err != nil {
		return err
	}
	*p = Planned{Aloft: plan.Aloft, Permitted: plan.Class != "NOT_PERMITTED"}
	if !p.Permitted {
		return nil
	}
	return p.Class.UnmarshalText([]byte(plan.Class))
}

// NMinus1 says whether the verdict survives the absence of any one person. Secure is nil when there is nothing to lose.
type NMinus1 struct {
	Secure  *bool    `json:"secure"`
	HangsOn []Absent `json:"hangs_on"`
}

// Absent is a person the verdict hangs on, and the verdict without them.
type Absent struct {
	Person  string  `json:"person"`
	Without Verdict `json:"without"`
}

// Finding is a reason as data.
type Finding struct {
	Code     Code     `json:"code"`
	Severity Severity `json:"severity"`
	Things   []string `json:"things"` // methods, duties, people or names of unknowns, by the code
	Values   Values   `json:"values"`
}

// Values are numbers by name; nil is a number that was not told.
type Values map[string]*int

// Condition is what must be accepted or done for a conditional choice.
type Condition struct {
	Code   Code     `json:"code"`
	Things []string `json:"things"`
}

// Refusal is the reply to a question that was not judged.
type Refusal struct {
	Question string
	Err      error
}

// MarshalJSON writes the paths of all refused fields.
func (r Refusal) MarshalJSON() ([]byte, error) {
	fields := []string{}
	for _, e := range groundhand.Refusals(r.Err) {
		fields = append(fields, e.Field)
	}
	return json.Marshal(struct {
		Format   string   `json:"format"`
		Question string   `json:"question"`
		Refused  []string `json:"refused_fields"`
	}{AnswerFormat, r.Question, fields})
}
