package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
)

// shortCaution stands beside each verdict.
const shortCaution = "(from the records; look at kit and lower controls yourself; local rules and the makers' instructions come first)"

var severityWords = map[readiness.Severity]string{
	readiness.SeverityBlock: "because:", readiness.SeverityUnknown: "not known:", readiness.SeverityLine: "struck:",
	readiness.SeverityCondition: "on condition:", readiness.SeverityNote: "note:",
}

var roleWords = map[readiness.Role]string{readiness.Lead: "leads", readiness.Second: "is second", readiness.Lone: "rescues alone"}

// verdictShapes stand before a verdict, so that it is told apart on a poor copy.
var verdictShapes = map[readiness.Verdict]string{
	readiness.Ready: "[=] ", readiness.Conditional: "[~] ", readiness.NotReady: "[X] ", readiness.CannotTell: "[?] ",
}

// verdictWords is a verdict as it stands out on paper.
func verdictWords(v readiness.Verdict) string { return strings.ToUpper(rollcall.VerdictWords(v)) }

// lookBoxes are the looks of the day, to be ticked off.
var lookBoxes = map[rollcall.Look]string{
	rollcall.LookControls: "[ ] lower controls worked", rollcall.LookKit: "[ ] kit seen on it", rollcall.LookSuits: "[ ] kit suits everybody aloft",
}

// coverPage writes cover answers as plain text, words instead of colours.
type coverPage struct {
	*sheet
	names map[groundhand.WorkerID]string
	zone  *time.Location
}

func (p coverPage) name(id string) string {
	if name, there := p.names[groundhand.WorkerID(id)]; there {
		return name
	}
	return id
}

func (p coverPage) clock(at groundhand.Instant) string { return at.In(p.zone).Format("15:04") }

func (p coverPage) listed(ids []string) string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = p.name(id)
	}
	return orNobody(out)
}

// job writes one booked job with its answer.
func (p coverPage) job(j rollcall.JobAnswer) {
	p.line()
	p.text(2, "%s  crew %s  %s to %s  %s", j.Job.ID, j.Job.CrewID, p.clock(j.Job.StartAt), p.clock(j.Job.EndAt), j.Job.Place)
	if j.Refused != nil {
		p.text(4, "NO ANSWER: %s", j.Refused)
		return
	}
	p.text(4, "on %s, %s aloft at a time, by rule set %s", gearWords(j), count(j.Job.Aloft), j.RuleSetID)
	p.answer(j.CoverAnswer)
}

// gearWords is the device and the kit on it.
func gearWords(j rollcall.JobAnswer) string {
	q := j.Question
	if j.Job.DeviceID == "" || q.Device == nil {
		return "a device not decided yet"
	}
	family := q.Device.Family
	if family == "" {
		family = "family not known"
	}
	kit := "no kit on it"
	if q.Kit != nil {
		kit = "with kit " + q.Kit.ID
	}
	return fmt.Sprintf("%s (%s) %s", q.Device.ID, family, kit)
}

// answer writes the verdict, the two lists, the moment until which they hold, and why.
func (p coverPage) answer(a rollcall.CoverAnswer) {
	p.text(4, "%s", verdictShapes[a.Answer.Verdict]+verdictWords(a.Answer.Verdict)+p.untilWords(a.Answer))
	p.text(4, "%s", shortCaution)
	if len(a.Looks) > 0 {
		boxes := make([]string, len(a.Looks))
		for i, l := range a.Looks {
			boxes[i] = lookBoxes[l]
		}
		p.text(4, "first look:      %s", strings.Join(boxes, "   "))
	}
	up := make([]string, len(a.Answer.MayGoAloft))
	for i, m := range a.Answer.MayGoAloft {
		up[i] = p.name(m.Person)
	}
	p.text(4, "may go aloft:    %s", orNobody(up))
	p.text(4, "must stay down:  %s", p.downWords(a.Answer.MustStayDown))
	p.onTheGround(a.Answer)
	p.reasons(a)
	p.hangsOn(a.Answer)
	p.changes(a)
}

// downWords gathers who must stay down by the reason.
func (p coverPage) downWords(list []readiness.Down) string {
	var reasons []readiness.Because
	who := map[readiness.Because][]string{}
	for _, d := range list {
		if who[d.Because] == nil {
			reasons = append(reasons, d.Because)
		}
		who[d.Because] = append(who[d.Because], p.name(d.Person))
	}
	out := make([]string, len(reasons))
	for i, because := range reasons {
		out[i] = strings.Join(who[because], ", ") + " (" + rollcall.BecauseWords(because) + ")"
	}
	if len(out) == 0 {
		return orNobody(nil)
	}
	return strings.Join(out, "; ")
}

func (p coverPage) untilWords(a readiness.Answer) string {
	until := a.HoldsUntil.Verdict.At.In(p.zone).Format("Mon 2 Jan 15:04")
	if a.HoldsUntil.Then != nil {
		return fmt.Sprintf(", until %s only, then %s", until, verdictWords(*a.HoldsUntil.Then))
	}
	return ", holds until " + until
}

// onTheGround says for the first choice of who goes up how they would be brought down, and by whom.
func (p coverPage) onTheGround(a readiness.Answer) {
	i := slices.IndexFunc(a.Choices, func(c readiness.Choice) bool { return c.Method != nil })
	if i < 0 {
		return
	}
	c := a.Choices[i]
	roles := make([]string, len(c.Roles))
	for k, r := range c.Roles {
		roles[k] = p.name(r.Person) + " " + roleWords[r.Role]
	}
	p.text(4, "on the ground:   with %s aloft, %s: %s", p.listed(c.Aloft), rollcall.MethodWords(*c.Method), strings.Join(roles, ", "))
}

// reasons writes why, what is to be accepted, and what is only something to do.
func (p coverPage) reasons(a rollcall.CoverAnswer) {
	for _, f := range a.Answer.Findings {
		if hidden(f, a.Answer) {
			continue
		}
		p.text(4, "%-16s %s", severityWords[f.Severity], rollcall.FindingWords(f, p.name))
	}
	for _, c := range a.Answer.Conditions {
		if c.Code != readiness.SwapAloft && c.Code != readiness.CallPlanMissing && c.Code != readiness.DutyUnheld {
			p.text(4, "%-16s %s", "on condition:", rollcall.ConditionWords(c, p.name))
		}
	}
	for _, s := range a.Swaps() {
		p.text(4, "%-16s at %s %s comes down; %s may go up", "to do:", p.clock(s.At), p.listed(s.ComeDown), p.listed(s.MayGoUp))
	}
}

// hidden leaves out what another line says better.
func hidden(f readiness.Finding, a readiness.Answer) bool {
	switch {
	case f.Code == readiness.SwapAloft:
		return true
	case f.Severity == readiness.SeverityUnknown && f.Code != readiness.UnknownDecides:
		return slices.ContainsFunc(a.Findings, func(o readiness.Finding) bool { return o.Code == readiness.UnknownDecides })
	}
	return false
}

func (p coverPage) hangsOn(a readiness.Answer) {
	if a.NMinus1 == nil || a.NMinus1.Secure == nil {
		return
	}
	if *a.NMinus1.Secure {
		p.text(4, "hangs on:        nobody; any one of them may be missing")
		return
	}
	on := make([]string, len(a.NMinus1.HangsOn))
	for i, h := range a.NMinus1.HangsOn {
		on[i] = p.name(h.Person)
	}
	p.text(4, "hangs on:        %s; without any one of them it is worse", strings.Join(on, ", "))
}

// Changes shown of each rung, and names for each reason to refuse.
const (
	changesShown = 2
	refusedShown = 6
)

// changes writes the least changes, smallest first, and who or what was looked at and is not offered.
func (p coverPage) changes(a rollcall.CoverAnswer) {
	shown := map[int]int{}
	for _, f := range a.Answer.Fixes {
		if shown[f.Rung]++; shown[f.Rung] <= changesShown {
			p.text(4, "%-16s %s", label(len(shown) == 1 && shown[f.Rung] == 1, "least change:"), p.changeWords(a, f))
		}
	}
	for _, rung := range slices.Sorted(maps.Keys(shown)) {
		if more := shown[rung] - changesShown; more > 0 {
			p.text(4, "%-16s and %d more like it: %s", "", more, rollcall.RungWords(rung))
		}
	}
	p.notOffered(a)
}

// notOffered lists candidates by the reason that keeps them out. That somebody is too far away or would not help needs no list.
func (p coverPage) notOffered(a rollcall.CoverAnswer) {
	names := map[string][]string{}
	for _, r := range a.Answer.Refused {
		if r.Reason != readiness.NoHelp && r.Reason != readiness.TooFar {
			why := refusedWords(r)
			names[why] = append(names[why], p.candidate(a, r))
		}
	}
	for i, why := range slices.Sorted(maps.Keys(names)) {
		who := names[why]
		if n := len(who); n > refusedShown {
			who = append(who[:refusedShown], fmt.Sprintf("and %d more", n-refusedShown))
		}
		heading := ""
		if i == 0 {
			heading = "not offered:"
		}
		p.text(4, "%-16s %s: %s", heading, why, strings.Join(who, ", "))
	}
}

func label(first bool, words string) string {
	if first {
		return words
	}
	return "or:"
}

func (p coverPage) changeWords(a rollcall.CoverAnswer, f readiness.Fix) string {
	var steps []string
	for _, c := range rollcall.Steps(f) {
		steps = append(steps, a.StepWords(f, c, p.name))
	}
	words := strings.Join(steps, ", and ")
	if f.Verdict == nil {
		return words
	}
	words += ": then " + verdictWords(*f.Verdict)
	if f.Aloft != nil {
		words += ", " + p.listed(f.Aloft) + " aloft"
	}
	if f.TravelMinutes > 0 {
		words += fmt.Sprintf(" (%d minutes of travel)", f.TravelMinutes)
	}
	for _, l := range f.Lenders {
		words += fmt.Sprintf("; crew %s lends %s%s", l.Crew, p.listed(l.People), beforeAfter(l.Before, l.After))
	}
	if again := a.LooksAgain(f); len(again) > 0 {
		words += "; to be looked at again that day: " + againWords(again)
	}
	return words
}

func againWords(looks []rollcall.Look) string {
	out := make([]string, len(looks))
	for i, l := range looks {
		out[i] = rollcall.LookWords(l)
	}
	return strings.Join(out, "; ")
}

func beforeAfter(before, after *readiness.Verdict) string {
	if before == nil || after == nil {
		return " and has no job then"
	}
	return fmt.Sprintf(", before %s, after %s", verdictWords(*before), verdictWords(*after))
}

// candidate names who or what was looked at.
func (p coverPage) candidate(a rollcall.CoverAnswer, r readiness.Refused) string {
	if r.Kind == readiness.DoDrill {
		return a.ChangeWords(readiness.FixChange{Do: r.Kind, ID: r.ID}, p.name)
	}
	return p.name(r.ID)
}

func refusedWords(r readiness.Refused) string {
	words := rollcall.RefusedWords(r.Reason)
	if r.Reason == readiness.LenderWorse && r.Before != nil && r.After != nil {
		words += fmt.Sprintf(" (%s %s, after it %s)", r.Lender, rollcall.VerdictWords(*r.Before), rollcall.VerdictWords(*r.After))
	}
	return words
}
