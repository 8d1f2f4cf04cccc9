package competence

import "groundhand/internal/groundhand"

// Kind is the kind of an entry.
type Kind string

// The kinds. Run, assessment and outside evidence can give credit.
const (
	Run         Kind = "run"
	Assessment  Kind = "assessment"
	Outside     Kind = "outside"
	Suspension  Kind = "suspension"
	Lifting     Kind = "lifting"
	Extension   Kind = "extension"
	Provisional Kind = "provisional"
	Away        Kind = "away"
	Grade       Kind = "grade"
	Authority   Kind = "authority"
	Withdrawal  Kind = "withdrawal"
)

// Entry is one recorded fact or act. Which fields mean something depends on the kind; the others are ignored.
// An entry happened either on a day or at an instant. Empty text, the zero day and the zero instant mean "none".
type Entry struct {
	ID         string             `json:"id"`
	Kind       Kind               `json:"kind"`
	Person     string             `json:"person,omitzero"` // of an authority: the assessor. A withdrawal has none
	HappenedOn groundhand.Date    `json:"happened_on,omitzero"`
	HappenedAt groundhand.Instant `json:"happened_at,omitzero"`
	RecordedAt groundhand.Instant `json:"recorded_at"`
	Author     string             `json:"author"`
	Replaces   string             `json:"replaces,omitzero"` // a correction stands complete in the place of that entry

	Method string `json:"method,omitzero"`
	Role   string `json:"role,omitzero"`   // of a suspension, extension: none is all roles (an extension never reaches lone so)
	Family string `json:"family,omitzero"` // of a suspension, extension: none is all families

	Complete     bool   `json:"complete,omitzero"`      // run
	CriticalFail bool   `json:"critical_fail,omitzero"` // run
	Theory       bool   `json:"theory,omitzero"`        // run, assessment
	WatchedBy    string `json:"watched_by,omitzero"`    // run

	Result   string `json:"result,omitzero"`   // assessment
	Critical bool   `json:"critical,omitzero"` // assessment: of a fail
	Assessor string `json:"assessor,omitzero"` // assessment
	OfRun    string `json:"of_run,omitzero"`   // assessment: the run assessed

	Issuer  string `json:"issuer,omitzero"`  // outside
	Level   string `json:"level,omitzero"`   // outside
	Checker string `json:"checker,omitzero"` // outside

	From     groundhand.Date `json:"from,omitzero"`     // extension, provisional, away, authority
	To       groundhand.Date `json:"to,omitzero"`       // the same; none is without end
	Approver string          `json:"approver,omitzero"` // extension

	Lifts     string `json:"lifts,omitzero"`     // lifting: a suspension
	ByPass    string `json:"by_pass,omitzero"`   // lifting: an assessment
	Withdraws string `json:"withdraws,omitzero"` // withdrawal: any entry, also a withdrawal

	Grade string `json:"grade,omitzero"` // grade
	Year  int    `json:"year,omitzero"`  // grade: of an apprentice

	Methods  []string `json:"methods,omitzero"`  // authority
	Families []string `json:"families,omitzero"` // authority: nil is all, empty is none
}

// isEvidence says that the entry could give credit.
func (e *Entry) isEvidence() bool {
	return e.Kind == Run || e.Kind == Assessment || e.Kind == Outside
}

// isCriticalRun says that a run showed a critical fault; theory does not soften that.
func (e *Entry) isCriticalRun() bool { return e.Kind == Run && e.CriticalFail }

// isFailedAssessment says that an assessment in practice was failed.
func (e *Entry) isFailedAssessment() bool {
	return e.Kind == Assessment && e.Result == ResultFail && !e.Theory
}

// taskMethod is the method of an entry of a kind that has one.
func (e *Entry) taskMethod() string {
	switch e.Kind {
	case Away, Grade, Authority, Lifting, Withdrawal:
		return ""
	}
	return e.Method
}

// names is the entry that this one withdraws or replaces.
func (e *Entry) names() string {
	if e.Kind == Withdrawal {
		return e.Withdraws
	}
	return e.Replaces
}

// playsPart says that a role is one of the three of a rescue.
func playsPart(role string) bool { return role == RoleLead || role == RoleSecond || role == RoleLone }

// covers says that evidence in one role is good for the role wanted.
func covers(role, wanted string) bool {
	switch wanted {
	case RoleAny:
		return playsPart(role)
	case RoleSecond:
		return role == RoleLead || role == RoleSecond
	}
	return role == wanted
}
