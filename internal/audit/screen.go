package audit

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
	"time"

	"groundhand/internal/groundhand"
)

// Finding is something that can hardly have been as it is written, put as a question to a person. There may be a good answer.
type Finding struct {
	Kind     FindingKind
	Question string
	On       groundhand.Date
	Workers  []groundhand.WorkerID // who was there and who signed, by id
	Entries  []groundhand.EntryID  // passes, parts and runs that it is about
}

// FindingKind is what a screen looks for.
type FindingKind string

// The kinds.
const (
	TooManyRuns  FindingKind = "TOO_MANY_RUNS"       // for the time they took
	HeapedTimes  FindingKind = "HEAPED_TIMES"        // on fives and noughts
	SameSplits   FindingKind = "SAME_SPLITS"         // twice
	TooFast      FindingKind = "TOO_FAST_BETWEEN"    // two yards, nearer in time than by road
	OneAnother   FindingKind = "ASSESSED_EACH_OTHER" // on one day; always shown
	Contradicted FindingKind = "CONTRADICTED"        // by another entry
)

// What the screens go by. All four are common practice, no source: an employer who sets them otherwise loses nothing but questions.
const (
	LeastBetween = 6 * time.Minute // from one run to the next: kit back in the bag, bucket up, people changed over
	FewestRuns   = 4               // fewer say nothing about a throughput
	FewestTimes  = 10              // fewer say nothing about last figures
	fullSplits   = 5               // stage marks from which two runs cannot be alike by chance
)

// heapedBelow is the chance below which times that end on five or nought are asked about: one in a hundred thousand.
var heapedBelow = big.NewRat(1, 100_000)

// Facts is what the screens look at: the runs of some days that stand, who had a part in them, what was assessed, and where.
type Facts struct {
	Zone        *time.Location
	Runs        []groundhand.Run
	Parts       []groundhand.RunPart
	Assessments []groundhand.Assessment
	Yards       map[groundhand.RunID]groundhand.YardID // where it is known
	Roads       map[[2]groundhand.YardID]int           // minutes by road, either way
	Spoken      map[groundhand.EntryID]bool            // entries of these that another entry contradicts
}

// Screens puts all questions, by day and kind. It is a pure function.
func Screens(f Facts) []Finding {
	var out []Finding
	for _, group := range f.bySigner() {
		out = append(out, f.throughput(group)...)
		out = append(out, f.heaped(group)...)
	}
	out = append(out, f.alike()...)
	out = append(out, f.travel()...)
	out = append(out, f.oneAnother()...)
	out = append(out, f.contradicted()...)
	slices.SortStableFunc(out, func(x, y Finding) int {
		return cmp.Or(cmp.Compare(x.On, y.On), cmp.Compare(x.Kind, y.Kind))
	})
	return out
}

// group is the runs that one person watched on one day, in order.
type group struct {
	by   groundhand.WorkerID
	on   groundhand.Date
	runs []groundhand.Run
}

func (f Facts) bySigner() []group {
	var out []group
	runs := slices.Clone(f.Runs)
	slices.SortStableFunc(runs, func(x, y groundhand.Run) int {
		return cmp.Or(cmp.Compare(x.HappenedOn, y.HappenedOn), cmp.Compare(x.WatchedBy, y.WatchedBy), cmp.Compare(x.HappenedAt, y.HappenedAt))
	})
	for _, r := range runs {
		if r.WatchedBy == "" || r.HappenedAt == 0 || r.Method == groundhand.Familiarisation {
			continue
		}
		if n := len(out); n == 0 || out[n-1].by != r.WatchedBy || out[n-1].on != r.HappenedOn {
			out = append(out, group{by: r.WatchedBy, on: r.HappenedOn})
		}
		out[len(out)-1].runs = append(out[len(out)-1].runs, r)
	}
	return out
}

// throughput looks for the tightest stretch of runs: as many as can be, in less time than they need.
func (f Facts) throughput(g group) []Finding {
	best, from, to := 0, 0, 0
	for i := range g.runs {
		for j := i + FewestRuns - 1; j < len(g.runs); j++ {
			took := time.Duration(g.runs[j].HappenedAt-g.runs[i].HappenedAt) * time.Millisecond
			if n := j - i + 1; took < time.Duration(n-1)*LeastBetween && n > best {
				best, from, to = n, i, j
			}
		}
	}
	if best == 0 {
		return nil
	}
	runs := g.runs[from : to+1]
	first, last := runs[0].HappenedAt.In(f.Zone), runs[best-1].HappenedAt.In(f.Zone)
	what := fmt.Sprintf("%d runs", best)
	passes := f.passesOf(runs)
	if len(passes) > 0 {
		what = fmt.Sprintf("%d runs with %d passes", best, len(passes))
	}
	out := f.finding(TooManyRuns, g, runs)
	out.Question = fmt.Sprintf("%s began between %s and %s, one every %.1f minutes, before one person: was each set up, run, timed and talked over?",
		what, first.Format("15:04"), last.Format("15:04"), last.Sub(first).Minutes()/float64(best-1))
	return []Finding{out}
}

// heaped counts the times that end on a five or a nought. Read off a watch, two in ten do.
func (f Facts) heaped(g group) []Finding {
	all, round := 0, 0
	for _, r := range g.runs {
		for _, m := range r.Marks {
			if m.Stage == groundhand.S0 {
				continue
			}
			all++
			if m.Seconds%5 == 0 {
				round++
			}
		}
	}
	if all < FewestTimes || Tail(all, round, big.NewRat(1, 5)).Cmp(heapedBelow) >= 0 {
		return nil
	}
	out := f.finding(HeapedTimes, g, g.runs)
	out.Question = fmt.Sprintf("%d of %d times end on a five or a nought; read off a watch about %d would, and so many or more less than once in %s such sheets. Were they measured?",
		round, all, (all+2)/5, onceIn(Tail(all, round, big.NewRat(1, 5))))
	return []Finding{out}
}

// onceIn is the whole number of which a chance is one, cut to what a person can take in.
func onceIn(chance *big.Rat) string {
	const most = 1_000_000_000
	n := new(big.Int).Quo(chance.Denom(), chance.Num())
	if n.Cmp(big.NewInt(most)) > 0 {
		return "a thousand million"
	}
	return n.String()
}

// Tail is the chance that of n independent trials at least k succeed, each with the chance p: the upper tail of the binomial distribution, exact.
func Tail(n, k int, p *big.Rat) *big.Rat {
	sum, q := new(big.Rat), new(big.Rat).Sub(big.NewRat(1, 1), p)
	for i := max(k, 0); i <= n; i++ {
		term := new(big.Rat).SetInt(new(big.Int).Binomial(int64(n), int64(i)))
		term.Mul(term, power(p, i))
		sum.Add(sum, term.Mul(term, power(q, n-i)))
	}
	return sum
}

func power(x *big.Rat, n int) *big.Rat {
	e := big.NewInt(int64(n))
	return new(big.Rat).SetFrac(new(big.Int).Exp(x.Num(), e, nil), new(big.Int).Exp(x.Denom(), e, nil))
}

// alike looks for runs with the same time at every stage.
func (f Facts) alike() []Finding {
	var order []string
	same := map[string][]groundhand.Run{}
	for _, r := range f.Runs {
		if len(r.Marks) < fullSplits {
			continue
		}
		splits := fmt.Sprint(r.Marks)
		if same[splits] == nil {
			order = append(order, splits)
		}
		same[splits] = append(same[splits], r)
	}
	var out []Finding
	for _, splits := range order {
		runs := same[splits]
		if len(runs) < 2 {
			continue
		}
		g := group{by: runs[0].WatchedBy}
		for _, r := range runs {
			g.on = max(g.on, r.HappenedOn)
		}
		found := f.finding(SameSplits, g, runs)
		found.Question = fmt.Sprintf("%d runs have the same time at each of %d stages: were some copied from another?", len(runs), len(runs[0].Marks))
		out = append(out, found)
	}
	return out
}

// travel looks at people who were at two yards with less time between than the road takes.
func (f Facts) travel() []Finding {
	type stop struct {
		run  groundhand.Run
		part groundhand.RunPart
	}
	runs := map[groundhand.RunID]groundhand.Run{}
	for _, r := range f.Runs {
		runs[r.ID] = r
	}
	stops := map[groundhand.WorkerID][]stop{}
	for _, p := range f.Parts {
		if r, there := runs[p.RunID]; there && r.HappenedAt != 0 && f.Yards[r.ID] != "" {
			stops[p.WorkerID] = append(stops[p.WorkerID], stop{r, p})
		}
	}
	var out []Finding
	for who, list := range stops {
		slices.SortStableFunc(list, func(x, y stop) int { return cmp.Compare(x.run.HappenedAt, y.run.HappenedAt) })
		for i := 1; i < len(list); i++ {
			a, b := list[i-1], list[i]
			road, known := f.Roads[[2]groundhand.YardID{f.Yards[a.run.ID], f.Yards[b.run.ID]}]
			between := time.Duration(b.run.HappenedAt-a.run.HappenedAt) * time.Millisecond
			here, there := f.Yards[a.run.ID], f.Yards[b.run.ID]
			if here == there || between >= time.Duration(max(road, 1))*time.Minute {
				continue
			}
			takes := "nobody entered how long the road takes"
			if known {
				takes = fmt.Sprintf("the road takes %d", road)
			}
			out = append(out, Finding{Kind: TooFast, On: b.run.HappenedOn, Workers: []groundhand.WorkerID{who}, Entries: []groundhand.EntryID{a.part.ID, b.part.ID},
				Question: fmt.Sprintf("One person was at yard %s at %s and at yard %s %.0f minutes later; %s. Which of the two is right?",
					here, a.run.HappenedAt.In(f.Zone).Format("15:04"), there, between.Minutes(), takes)})
		}
	}
	slices.SortFunc(out, func(x, y Finding) int { return cmp.Compare(x.Workers[0], y.Workers[0]) })
	return out
}

// oneAnother shows two people who assess each other on one day; whether that may be is the employer's rule.
func (f Facts) oneAnother() []Finding {
	var out []Finding
	for i, a := range f.Assessments {
		for _, b := range f.Assessments[:i] {
			if a.HappenedOn != b.HappenedOn || a.WorkerID != b.AssessorID || a.AssessorID != b.WorkerID {
				continue
			}
			out = append(out, Finding{Kind: OneAnother, On: a.HappenedOn, Workers: sortedIDs(a.WorkerID, b.WorkerID), Entries: []groundhand.EntryID{b.ID, a.ID},
				Question: "Two people assessed each other on one day. Does the employer's rule allow it, and who else was there?"})
		}
	}
	return out
}

func sortedIDs(ids ...groundhand.WorkerID) []groundhand.WorkerID {
	slices.Sort(ids)
	return slices.Compact(ids)
}

// contradicted shows what another entry speaks against: the device was out of service, or the person away.
func (f Facts) contradicted() []Finding {
	var out []Finding
	for _, r := range f.Runs {
		g := group{by: r.WatchedBy, on: r.HappenedOn}
		if f.Spoken[groundhand.EntryID(r.ID)] {
			found := f.finding(Contradicted, g, []groundhand.Run{r})
			found.Question = "The device was out of service at that time, as another entry says. Which of the two is right?"
			out = append(out, found)
		}
	}
	ofRun := map[groundhand.RunID]bool{}
	for _, found := range out {
		ofRun[groundhand.RunID(found.Entries[0])] = true
	}
	for _, p := range f.Parts {
		if f.Spoken[p.ID] && !ofRun[p.RunID] {
			out = append(out, Finding{Kind: Contradicted, On: p.HappenedOn, Workers: []groundhand.WorkerID{p.WorkerID}, Entries: []groundhand.EntryID{p.ID},
				Question: "This person was not at work at that time, as another entry says. Which of the two is right?"})
		}
	}
	return out
}

// finding names runs with their passes, and everybody who had a part.
func (f Facts) finding(kind FindingKind, g group, runs []groundhand.Run) Finding {
	out := Finding{Kind: kind, On: g.on}
	who := []groundhand.WorkerID{}
	if g.by != "" {
		who = append(who, g.by)
	}
	for _, r := range runs {
		out.Entries = append(out.Entries, groundhand.EntryID(r.ID))
		for _, p := range f.Parts {
			if p.RunID == r.ID {
				who = append(who, p.WorkerID)
			}
		}
	}
	out.Entries = append(out.Entries, f.passesOf(runs)...)
	out.Workers = sortedIDs(who...)
	return out
}

// passesOf are the passes that rest on runs.
func (f Facts) passesOf(runs []groundhand.Run) (out []groundhand.EntryID) {
	parts := map[groundhand.EntryID]bool{}
	for _, p := range f.Parts {
		if slices.ContainsFunc(runs, func(r groundhand.Run) bool { return r.ID == p.RunID }) {
			parts[p.ID] = true
		}
	}
	for _, a := range f.Assessments {
		if parts[a.RunPartID] && a.Result == groundhand.Pass {
			out = append(out, a.ID)
		}
	}
	return out
}
