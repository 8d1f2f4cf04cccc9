package groundhand

// Practice is one person's part in a run together with the facts of the run that decide whether it counts.
type Practice struct {
	RunPart
	Method    Method
	FamilyID  FamilyID
	Complete  bool
	Theory    bool
	WatchedBy WorkerID
}

// Evidence is everything recorded about a set of workers that may bear on their standing, replaced and withdrawn entries included:
// the rules decide what counts, not the query.
type Evidence struct {
	Practices        []Practice
	Assessments      []Assessment
	Outside          []OutsideEvidence
	Suspensions      []Suspension
	Liftings         []Lifting
	Extensions       []Extension
	Provisionals     []Provisional
	Unavailabilities []Unavailability
	Gradings         []Grading
	Authorities      []Authority // of these workers as assessors
	Withdrawals      []Withdrawal
}

// Assessors lists the workers whose own standing bears on this evidence, each once, in the order first met.
func (e Evidence) Assessors() []WorkerID {
	seen := map[WorkerID]bool{"": true}
	var out []WorkerID
	for _, a := range e.Assessments {
		if !seen[a.AssessorID] {
			seen[a.AssessorID] = true
			out = append(out, a.AssessorID)
		}
	}
	return out
}
