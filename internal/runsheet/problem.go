package runsheet

import "encoding/json"

// ProblemFormat is the name of the JSON form of a Problem.
const ProblemFormat = "drill-sheet-problem/1"

// Problem is who is present at a drill and what each of them needs. Build it directly or read it with Decode; Plan refuses a Problem that
// Validate refuses.
type Problem struct {
	Name         string   `json:"name"`
	MaxRuns      int      `json:"max_runs"` // most timed runs for which there is time
	People       []Person `json:"people"`
	PairedBefore []Couple `json:"paired_before"`
}

// Person is somebody present. An empty Crew is nobody's crew: two people without a crew are not of the same one.
type Person struct {
	ID    string `json:"id"`
	Crew  string `json:"crew"`
	Needs Needs  `json:"needs"`
}

// Needs are the runs that somebody must have in each role, at least; a helper needs none and may still be asked to lead or to be second.
type Needs struct {
	Lead   int `json:"lead"`
	Second int `json:"second"`
	Lone   int `json:"lone"`
}

// Couple is two people, in either order, and how many pair runs they had together before.
type Couple struct {
	A     string `json:"a"`
	B     string `json:"b"`
	Times int    `json:"times"`
}

// Fewest is how many runs a sheet has at least; Plan makes no more.
func (p Problem) Fewest() int { return newDrill(p).runs() }

// MarshalJSON writes the drill-sheet-problem/1 form.
func (p Problem) MarshalJSON() ([]byte, error) {
	type plain Problem
	if p.People == nil {
		p.People = []Person{}
	}
	if p.PairedBefore == nil {
		p.PairedBefore = []Couple{}
	}
	return json.Marshal(struct {
		Format string `json:"format"`
		plain
	}{ProblemFormat, plain(p)})
}

// MarshalJSON writes somebody without a crew as null.
func (p Person) MarshalJSON() ([]byte, error) {
	type plain Person
	out := struct {
		plain
		Crew *string `json:"crew"`
	}{plain: plain(p)}
	if p.Crew != "" {
		out.Crew = &p.Crew
	}
	return json.Marshal(out)
}
