package runsheet

import "groundhand/internal/strictjson"

// Sizes above which a figure is a typing error. They also keep every sum within an int and every search within memory.
const (
	mostPeople = 100
	mostRuns   = 500
	mostNeeded = 50     // runs that one person needs in one role
	mostTimes  = 10_000 // pair runs that two people had before
)

// Validate refuses a problem that contradicts itself: empty or double ids, numbers out of range, couples that are unknown, the same person
// twice, or named twice. All faults come at once, each under the path of its field.
func (p Problem) Validate() error {
	f := strictjson.NewForm()
	p.validate(f)
	return f.Err()
}

func (p Problem) validate(f *strictjson.Form) {
	f.Between("max_runs", p.MaxRuns, 0, mostRuns)
	if len(p.People) > mostPeople {
		f.Refuse("people", "%d people are more than one session can take; the limit is %d.", len(p.People), mostPeople)
	}
	known := strictjson.Declare(f, "people", p.People, func(w Person) string { return w.ID })
	for i, w := range p.People {
		path := strictjson.Item("people", i) + ".needs"
		f.Between(path+".lead", w.Needs.Lead, 0, mostNeeded)
		f.Between(path+".second", w.Needs.Second, 0, mostNeeded)
		f.Between(path+".lone", w.Needs.Lone, 0, mostNeeded)
	}
	p.validateCouples(f, known)
}

func (p Problem) validateCouples(f *strictjson.Form, known map[string]int) {
	seen := map[[2]string]int{}
	for i, c := range p.PairedBefore {
		path := strictjson.Item("paired_before", i)
		f.Known(path+".a", "person", c.A, known)
		f.Known(path+".b", "person", c.B, known)
		f.Between(path+".times", c.Times, 0, mostTimes)
		key := [2]string{min(c.A, c.B), max(c.A, c.B)}
		if c.A == c.B {
			f.Refuse(path+".b", "Nobody is paired with himself.")
		} else if j, twice := seen[key]; twice {
			f.Refuse(path, "The same two people are already in %s.", strictjson.Item("paired_before", j))
		}
		seen[key] = i
	}
}
