package watch

import (
	"encoding/json"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

// finding is what a flag says, apart from when. At most one flag of a kind is open about one worker or crew.
type finding struct {
	kind   groundhand.FlagKind
	worker groundhand.WorkerID
	crew   groundhand.CrewID
	detail string
}

func findingOf(f groundhand.Flag) finding { return finding{f.Kind, f.WorkerID, f.CrewID, f.Detail} }

// difference gives what is found and not open, and what is open and not found. A flag whose reasons have changed is cleared and raised
// anew: an open flag never tells of a line that is current again.
func difference(found, open []groundhand.Flag) (raised, cleared []groundhand.Flag) {
	return without(found, open), without(open, found)
}

func without(flags, others []groundhand.Flag) []groundhand.Flag {
	known := make(map[finding]bool, len(others))
	for _, f := range others {
		known[findingOf(f)] = true
	}
	var out []groundhand.Flag
	for _, f := range flags {
		if !known[findingOf(f)] {
			out = append(out, f)
		}
	}
	return out
}

// findings says what a company day should be flagged for, in the order of the company. It is pure.
func findings(c rollcall.Company) []groundhand.Flag {
	var out []groundhand.Flag
	for _, w := range c.Workers {
		if lines := w.NotCurrent(); len(lines) > 0 {
			out = append(out, groundhand.Flag{Kind: groundhand.PracticeLapsed, WorkerID: w.WorkerID, Detail: detail(lines)})
		}
		if lines := w.Near(c.On, c.LeadDays); len(lines) > 0 {
			out = append(out, groundhand.Flag{Kind: groundhand.LastGoodDayNear, WorkerID: w.WorkerID, Detail: detail(lines)})
		}
	}
	for _, crew := range c.Crews {
		out = append(out, crewFindings(crew)...)
	}
	return out
}

func crewFindings(crew rollcall.CrewDay) (out []groundhand.Flag) {
	var short, bare []familyDetail
	for _, f := range crew.Families {
		if f.BelowTwo() {
			short = append(short, familyDetail{f.FamilyID, &f.Rescuers, f.Least})
		}
		if !f.GroundCover {
			bare = append(bare, familyDetail{FamilyID: f.FamilyID})
		}
	}
	if len(short) > 0 {
		out = append(out, groundhand.Flag{Kind: groundhand.CrewBelowTwo, CrewID: crew.Crew.ID, Detail: text(short)})
	}
	if len(bare) > 0 {
		out = append(out, groundhand.Flag{Kind: groundhand.NoGroundCover, CrewID: crew.Crew.ID, Detail: text(bare)})
	}
	return out
}

// lineDetail is one line of a worker's flag: reasons as data, without a word about health.
type lineDetail struct {
	Method      groundhand.Method   `json:"method"`
	Role        groundhand.Role     `json:"role,omitempty"`
	FamilyID    groundhand.FamilyID `json:"family,omitempty"`
	Standing    string              `json:"standing"`
	LastGoodDay groundhand.Date     `json:"last_good_day,omitzero"` // by the evidence alone
	GoodThrough groundhand.Date     `json:"good_through,omitzero"`  // of a line that holds: through which day, if nothing else happens
	Line        string              `json:"line,omitempty"`
}

func detail(lines []rollcall.LineDay) string {
	out := make([]lineDetail, len(lines))
	for i, l := range lines {
		out[i] = lineDetail{Method: l.Method, Role: l.Role, FamilyID: l.FamilyID, Standing: string(l.Standing), LastGoodDay: l.LastGoodDay, Line: l.Line}
		if l.Holds() {
			out[i].GoodThrough = l.GoodThrough()
		}
	}
	return text(out)
}

// familyDetail is one control family of a crew's flag: numbers only, so that nobody reads who is away, let alone why.
type familyDetail struct {
	FamilyID groundhand.FamilyID `json:"family,omitempty"`
	Rescuers *int                `json:"rescuers,omitempty"` // of a crew below two; none of them is a number too
	Least    int                 `json:"least,omitempty"`
}

// text cannot fail: what it is given are plain words and numbers.
func text(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(b)
}
