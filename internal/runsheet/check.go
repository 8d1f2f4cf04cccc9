package runsheet

import "fmt"

// Fault is a rule that a sheet breaks. Code is R1 to R7. Run is the position in Sheet.Runs, -1 when the whole sheet is meant; Person is
// empty when nobody in particular is meant.
type Fault struct {
	Code   string
	Run    int
	Person string
	Detail string
}

func (f Fault) String() string {
	out := f.Code
	if f.Run >= 0 {
		out += fmt.Sprintf(" runs[%d]", f.Run)
	}
	if f.Person != "" {
		out += " " + f.Person
	}
	return out + ": " + f.Detail
}

// Check judges the runs and the six claimed figures of a sheet from the definitions. It gives every fault it finds; none means that the
// sheet may be used as far as the rules go. The problem must be one that Validate accepts.
func Check(p Problem, s Sheet) []Fault {
	c := newChecker(p, s)
	if len(s.Runs) > p.MaxRuns {
		c.fault("R1", -1, "", "%d runs, and there is time for %d", len(s.Runs), p.MaxRuns)
	}
	for i, r := range s.Runs {
		c.checkRun(i, r)
		c.checkTimekeeper(i, r)
	}
	c.checkNeeds()
	if len(c.faults) == 0 {
		c.checkFigures()
	}
	return c.faults
}

// Recount computes the six figures of a sheet without faults, whatever the sheet claims.
func Recount(p Problem, s Sheet) Figures { return newChecker(p, s).recount() }

// checker holds a problem and a sheet by their names; it shares nothing with the planner.
type checker struct {
	p      Problem
	s      Sheet
	people map[string]Person
	faults []Fault
}

func newChecker(p Problem, s Sheet) *checker {
	c := &checker{p: p, s: s, people: map[string]Person{}}
	for _, w := range p.People {
		c.people[w.ID] = w
	}
	return c
}

func (c *checker) fault(code string, run int, person, format string, args ...any) {
	c.faults = append(c.faults, Fault{code, run, person, fmt.Sprintf(format, args...)})
}

// checkRun is R2, R3 and R4.
func (c *checker) checkRun(i int, r Run) {
	pair, lone := r.Lead != "" && r.Second != "", r.Lone != ""
	if pair == lone || lone && (r.Lead != "" || r.Second != "") {
		c.fault("R2", i, "", "the run is neither a whole pair run nor a lone run")
	}
	for _, who := range []string{r.Lead, r.Second, r.Lone} {
		if _, present := c.people[who]; who != "" && !present {
			c.fault("R3", i, who, "is not present")
		}
	}
	if pair && r.Lead == r.Second {
		c.fault("R4", i, r.Lead, "leads and is second in one run")
	}
}

// checkTimekeeper is R5.
func (c *checker) checkTimekeeper(i int, r Run) {
	if r.Timekeeper != "" {
		if _, present := c.people[r.Timekeeper]; !present {
			c.fault("R5", i, r.Timekeeper, "keeps the time and is not present")
		}
		if rescues(r, r.Timekeeper) {
			c.fault("R5", i, r.Timekeeper, "keeps the time and is busy")
		}
		return
	}
	for _, w := range c.p.People {
		if !rescues(r, w.ID) {
			c.fault("R5", i, w.ID, "is free, and nobody keeps the time")
			return
		}
	}
}

func rescues(r Run, who string) bool { return who == r.Lead || who == r.Second || who == r.Lone }

// checkNeeds is R6.
func (c *checker) checkNeeds() {
	lead, second, lone := map[string]int{}, map[string]int{}, map[string]int{}
	for _, r := range c.s.Runs {
		lead[r.Lead]++
		second[r.Second]++
		lone[r.Lone]++
	}
	for _, w := range c.p.People {
		for _, role := range []struct {
			name      string
			has, need int
		}{{"lead", lead[w.ID], w.Needs.Lead}, {"second", second[w.ID], w.Needs.Second}, {"lone", lone[w.ID], w.Needs.Lone}} {
			if role.has < role.need {
				c.fault("R6", -1, w.ID, "is %s in %d of %d runs", role.name, role.has, role.need)
			}
		}
	}
}

// checkFigures is R7.
func (c *checker) checkFigures() {
	claimed, found := c.s.Objective.Levels(), c.recount().Levels()
	for i, name := range LevelNames {
		if claimed[i] != found[i] {
			c.fault("R7", -1, "", "%s is %d, not %d", name, found[i], claimed[i])
		}
	}
}

func (c *checker) recount() Figures {
	f := Figures{Runs: len(c.s.Runs)}
	before := map[[2]string]int{}
	for _, couple := range c.p.PairedBefore {
		before[coupleKey(couple.A, couple.B)] += couple.Times
	}
	together := map[[2]string]bool{}
	turns, leader := map[string]int{}, ""
	for _, r := range c.s.Runs {
		if r.Lone == "" {
			key := coupleKey(r.Lead, r.Second)
			if together[key] {
				f.RepeatPairs++
			}
			together[key] = true
			f.PairCost += before[key]
			if crew := c.people[r.Lead].Crew; crew == "" || crew != c.people[r.Second].Crew {
				f.PairCost += notOfOneCrew
			}
		}
		if r.Lead+r.Lone == leader {
			f.BackToBack++
		}
		leader = r.Lead + r.Lone // one of them is empty
		turns[r.Timekeeper]++
	}
	most, fewest := 0, len(c.s.Runs)
	for _, w := range c.p.People {
		f.WaitSquares += c.waits(w.ID)
		most, fewest = max(most, turns[w.ID]), min(fewest, turns[w.ID])
	}
	f.TimekeeperSpread = max(0, most-fewest)
	return f
}

func coupleKey(a, b string) [2]string { return [2]string{min(a, b), max(a, b)} }

// waits is the sum of the squares of the stretches of runs that somebody waits: before, between and after. Who never rescues waits for nothing.
func (c *checker) waits(who string) int {
	sum, stretch, any := 0, 0, false
	for _, r := range c.s.Runs {
		if !rescues(r, who) {
			stretch++
			continue
		}
		sum, stretch, any = sum+stretch*stretch, 0, true
	}
	if !any {
		return 0
	}
	return sum + stretch*stretch
}
