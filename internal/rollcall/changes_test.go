package rollcall_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
)

// told lists fixes as text: "3 DRILL(dario yusuf) READY".
func told(fixes []readiness.Fix) []string {
	out := []string{}
	for _, f := range fixes {
		s := fmt.Sprint(f.Rung)
		for _, c := range f.Changes {
			s += fmt.Sprintf(" %s %s%v", c.Do, c.ID, c.People)
		}
		out = append(out, s)
	}
	return out
}

func refusals(a rollcall.CoverAnswer) map[string]readiness.RefusedReason {
	out := map[string]readiness.RefusedReason{}
	for _, r := range a.Answer.Refused {
		out[r.ID] = r.Reason
	}
	return out
}

// The story of P1: two are to go up on A05. Of five one is away and three have lapsed. Tomasz of the other crew watches from five in the
// morning; Gideon comes at half past seven.
func twoAloft(t *testing.T) (*town, rollcall.CoverQuestion) {
	w := lineCrew(t, "callum", "dario", "hana", "ifeoma", "yusuf")
	w.current("F1", "hana", "ifeoma")
	w.away("hana", groundhand.Sick, "2025-06-11 19:10", "2025-06-16 00:00")
	w.crew("V2", groundhand.LineCrew, groundhand.List{"F1"}, "keahi", "lewis", "priya", "tomasz")
	w.current("F1", "keahi", "tomasz")
	w.crew("RELIEF", groundhand.ReliefPool, groundhand.List{"F1"}, "hamid", "leilani")
	w.current("F1", "hamid", "leilani")
	w.away("hamid", groundhand.Leave, "2025-06-12 00:00", "2025-06-20 00:00")
	for _, who := range []groundhand.WorkerID{"keahi", "lewis", "priya", "tomasz", "hamid", "leilani"} {
		w.firstAid(who, "2025-01-10")
	}
	add(w, groundhand.Authority{ID: w.id(), Recorded: w.told("2024-01-02"), AssessorID: "tomasz", Methods: groundhand.List{"PAIR_KIT"}, Families: groundhand.List{"F1"},
		FromOn: day("2024-01-02")})
	add(w, groundhand.Shift{ID: w.id(), Recorded: w.told("2025-06-11"), WorkerID: "tomasz", YardID: "Y1", FromAt: w.at("2025-06-12 05:00"), ToAt: w.at("2025-06-12 07:00")})
	add(w, groundhand.Shift{ID: w.id(), Recorded: w.told("2025-06-11"), WorkerID: "gideon", YardID: "Y1", FromAt: w.at("2025-06-12 07:30"), ToAt: w.at("2025-06-12 16:00")})
	w.device("A06", "F1") // of the other crew
	add(w, groundhand.Job{ID: "J-V2", Recorded: w.told("2025-06-09"), CrewID: "V2", YardID: "Y1", StartAt: w.at("2025-06-12 07:00"), EndAt: w.at("2025-06-12 15:30"),
		DeviceID: "A06", Aloft: 2, Methods: groundhand.List{"PAIR_KIT"}, Near50V: groundhand.Yes, SiteKind: groundhand.FieldSite, CallPlan: groundhand.Yes})
	q := w.shift("V1", "2025-06-12 06:00", "2025-06-12 14:00")
	q.Aloft, q.Looks, q.Changes = 2, rollcall.LooksByDay, &rollcall.Changes{}
	return w, q
}

func TestTheLeastChangeNeverLeavesTheLenderShort(t *testing.T) {
	w, q := twoAloft(t)
	a := w.cover(q)
	assert.Equal(t, readiness.NotReady, a.Answer.Verdict)
	assert.Equal(t, 1, *findingOf(t, a, readiness.CrewBelowTwo).Values["count"], "Ifeoma alone")
	fixes := told(a.Answer.Fixes)
	require.NotEmpty(t, fixes)
	assert.Contains(t, fixes, "3 DRILL 05:00 PAIR_KIT F1 by tomasz[dario yusuf]")
	assert.Contains(t, fixes, "4 PERSON leilani[]")
	assert.Equal(t, "8 DO_NOT_SEND []", fixes[len(fixes)-1])
	assert.Equal(t, 3, a.Answer.Fixes[0].Rung, "a drill in the yard disturbs nobody else")
	refused := refusals(a)
	assert.Equal(t, readiness.LenderWorse, refused["keahi"], "the other crew would be left with one")
	assert.Equal(t, readiness.OnLeave, refused["hamid"])

	at := refusals(a)
	for id, reason := range at {
		assert.NotContains(t, string(reason), "SICK", id)
	}
	assert.NotContains(t, fmt.Sprint(at), "hana", "who is asked about is no candidate")
}

// On a device of a family that the crew does not know, the first assessor comes at half past seven: nothing before a quarter past eight.
func TestALaterStartAfterADrill(t *testing.T) {
	w, q := twoAloft(t)
	q.DeviceID = "T18"
	w.current("F3", "ifeoma")
	a := w.cover(q)
	assert.Equal(t, readiness.NotReady, a.Answer.Verdict)
	fixes := told(a.Answer.Fixes)
	assert.Contains(t, fixes, "6 DRILL 07:30 PAIR_KIT F3 by gideon[dario yusuf] LATER 2025-06-12 08:15[]")
	for _, f := range a.Answer.Fixes {
		assert.False(t, f.Changes[0].Do == readiness.DoDrill && f.Rung < 6, "nobody who may watch on this family is there before departure")
	}
}

func TestAnotherDayAsksForItsLooksAgain(t *testing.T) {
	w := goodLine(t)
	w.away("ann", groundhand.Sick, "2025-06-12 00:00", "2025-06-13 00:00")
	q := w.shift("V1", "2025-06-12 07:00", "2025-06-12 15:30")
	q.Changes = &rollcall.Changes{}
	a := w.cover(q)
	require.Equal(t, "6 LATER 2025-06-13 07:00[]", told(a.Answer.Fixes)[0])
	assert.Equal(t, []rollcall.Look{rollcall.LookControls, rollcall.LookKit}, a.LooksAgain(a.Answer.Fixes[0]))
}

// P14: the spare kit of the neighbouring yard; the one in the workshop yard is too far.
func TestAKitFromTheNeighbouringYard(t *testing.T) {
	w := goodLine(t)
	add(w, groundhand.Yard{ID: "Y3", Recorded: w.told("2024-01-01"), Name: "far"})
	add(w, groundhand.Road{ID: w.id(), Recorded: w.told("2024-01-01"), FromYardID: "Y1", ToYardID: "Y2", Minutes: 70},
		groundhand.Road{ID: w.id(), Recorded: w.told("2024-01-01"), FromYardID: "Y3", ToYardID: "Y1", Minutes: 120})
	for kit, yard := range map[groundhand.KitID]groundhand.YardID{"K29": "Y2", "K23": "Y3"} {
		w.device("D"+groundhand.DeviceID(kit), "F3")
		w.equip("D"+groundhand.DeviceID(kit), kit)
		add(w, groundhand.KitPlacing{ID: w.id(), Recorded: w.told("2025-01-02"), KitID: kit, YardID: yard})
	}
	for _, d := range []groundhand.DeviceID{"T18", "DK29", "DK23", "A05"} { // the other kits of the yard are out as well
		add(w, groundhand.Defect{ID: w.id(), Recorded: w.moment("2025-06-11 14:20"), KitID: "K-" + groundhand.KitID(d), Cause: groundhand.DefectFound})
	}
	q := w.shift("V1", "2025-06-12 07:00", "2025-06-12 15:30")
	q.Changes = &rollcall.Changes{Most: 1}
	a := w.cover(q)
	assert.Equal(t, readiness.NotReady, a.Answer.Verdict)
	assert.Equal(t, []string{"5 KIT K29[]", "8 DO_NOT_SEND []"}, told(a.Answer.Fixes))
	assert.Equal(t, 70, a.Answer.Fixes[0].TravelMinutes)
	assert.Equal(t, readiness.TooFar, refusals(a)["K23"])
}

// Every pool is a file that anybody can answer.
func TestAQuestionWithItsPoolIsRecomputed(t *testing.T) {
	w, q := twoAloft(t)
	a := w.cover(q)
	again := recomputed(t, a.Question)
	assert.Equal(t, told(a.Answer.Fixes), told(again.Fixes))
	assert.Equal(t, a.Answer.Refused, again.Refused)
}

func findingOf(t *testing.T, a rollcall.CoverAnswer, code readiness.Code) readiness.Finding {
	t.Helper()
	for _, f := range a.Answer.Findings {
		if f.Code == code {
			return f
		}
	}
	require.Failf(t, "no such finding", "%s in %v", code, a.Answer.Findings)
	return readiness.Finding{}
}
