package groundhand

// RuleSet is the employer's or a client's dated, approved rules as data. Old ones are kept: a past day is judged by the rules of that day.
// No rule set says that a law is met.
type RuleSet struct {
	ID RuleSetID
	Recorded
	Title            string
	Owner            string // the employer, or the client whose rules these are
	IsDefault        bool   // chosen by date for the employer's own work; else used only when named
	EffectiveFrom    Date
	EffectiveThrough Date // last day; zero: until another takes over
	ApprovedBy       string
	Body             string // the rules as JSON; package rulebook reads and checks it
}
