package graph

import (
	"strings"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
)

// Questions about cover, out of the contract's words into ours.

func questionOf(ask generated.CoverAsk) rollcall.CoverQuestion {
	return rollcall.CoverQuestion{
		CrewID: groundhand.CrewID(or(ask.Crew)), People: named[groundhand.WorkerID](ask.People), Absent: named[groundhand.WorkerID](ask.Absent),
		FromAt: ask.From, ToAt: ask.To, DeviceID: groundhand.DeviceID(or(ask.Device)), KitID: groundhand.KitID(or(ask.Kit)),
		Aloft: aloftOf(ask), Buckets: ask.Buckets, Methods: ask.Methods, Near50V: or(ask.Near50v), SiteKind: or(ask.SiteKind), RuleText: or(ask.RuleText),
		HiresTrained: or(ask.HiresTrained), CallPlan: or(ask.CallPlan), RuleSetID: groundhand.RuleSetID(or(ask.RuleSet)),
		PlannedAloft: named[groundhand.WorkerID](ask.PlannedAloft), Duties: ask.Duties, Looks: looksOf(ask.Looks),
		ControlsChecked: or(ask.ControlsChecked), KitOnDevice: or(ask.KitOnDevice), KitSuits: or(ask.KitSuits), Changes: changesOf(ask.Changes),
	}
}

// aloftOf: what is not said is the sum of the buckets, or one.
func aloftOf(ask generated.CoverAsk) int {
	if ask.Aloft != nil {
		return *ask.Aloft
	}
	if len(ask.Buckets) == 0 {
		return 1
	}
	sum := 0
	for _, n := range ask.Buckets {
		sum += n
	}
	return sum
}

func wishOf(w generated.JobWish) rollcall.Wish {
	return rollcall.Wish{Looks: looksOf(w.Looks), ControlsChecked: or(w.ControlsChecked), KitOnDevice: or(w.KitOnDevice), KitSuits: or(w.KitSuits), Changes: changesOf(w.Changes)}
}

// atWish puts a refusal of the search under the wish that asked for it. What is wrong with the booking itself is no field of the question.
func atWish(err error) error {
	var p groundhand.Problems
	for _, e := range groundhand.Refusals(err) {
		field := e.Field
		if strings.HasPrefix(field, "changes") {
			field = "wish." + field
		}
		p.Add(e.Code, field, "%s", e.Message)
	}
	if p.Any() {
		return p.Err()
	}
	return err
}

func looksOf(l *generated.LooksCounted) rollcall.Looks {
	switch or(l) {
	case generated.LooksCountedRecorded:
		return rollcall.LooksRecorded
	case generated.LooksCountedSupposed:
		return rollcall.LooksSupposed
	}
	return rollcall.LooksByDay
}

func changesOf(c *generated.ChangesAsk) *rollcall.Changes {
	if c == nil {
		return nil
	}
	return &rollcall.Changes{Most: asGiven(c.Most), Show: asGiven(c.Show), Within: asGiven(c.Within), Later: c.Later, Target: verdictAsked(c.Target)}
}

// asGiven keeps a nought that was written out from being taken for nothing said.
func asGiven(n *int) int {
	if n != nil && *n == 0 {
		return -1
	}
	return or(n)
}

func verdictAsked(v *generated.Verdict) readiness.Verdict {
	for _, known := range []readiness.Verdict{readiness.CannotTell, readiness.Conditional, readiness.Ready} {
		if v != nil && generated.Verdict(known.String()) == *v {
			return known
		}
	}
	return readiness.NotReady // which asks for ready: nothing is below it
}
