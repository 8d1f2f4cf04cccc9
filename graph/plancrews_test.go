package graph_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

type toldDrills struct {
	Yard        named
	On, Caution string
	Drills      []struct {
		Session                         *struct{ ID string }
		Part, FamilyID, DeviceID, KitID string
		Methods                         []string
		Assessor                        named
		People                          []struct {
			Worker      named
			Method      string
			LastGoodDay *string
		}
		PeopleInAll int
	}
}

func (s *scene) drillsAt(yard, on, people string) toldDrills {
	s.t.Helper()
	var out toldDrills
	s.into(groundhand.Coordinator, fmt.Sprintf(`{ drillsAt(yardId: %q, on: %q) { yard { id name } on caution
  drills { session { id } part methods familyId deviceId kitId assessor { id name } people%s { worker { id name } method lastGoodDay } peopleInAll } } }`, yard, on, people), &out)
	return out
}

// A month before the practice of both crews ends: the booked morning first, and the afternoon in which A04 and its kit are free again.
func TestWhatCanBeDrilledAtAYardOnADay(t *testing.T) {
	s := newScene(t)
	booked := s.make("bookSession", form{"yardId": "VARROW", "startAt": "2026-02-12T08:00:00Z", "endAt": "2026-02-12T12:00:00Z", "methods": []string{"PAIR_KIT"}, "deviceId": "A04",
		"assessorId": s.id["Gideon"], "seats": 6})
	told := s.drillsAt("VARROW", "2026-02-12", "")
	assert.Equal(t, []string{"Varrow", "2026-02-12"}, []string{told.Yard.Name, told.On})
	assert.Contains(t, told.Caution, "licensed practice")
	require.Len(t, told.Drills, 2)
	morning, afternoon := told.Drills[0], told.Drills[1]
	require.NotNil(t, morning.Session)
	assert.Equal(t, []string{booked, "am", "F1", "A04"}, []string{morning.Session.ID, morning.Part, morning.FamilyID, morning.DeviceID})
	assert.Nil(t, afternoon.Session, "possible, and not booked")
	assert.Equal(t, []string{"pm", "F1", "A04", "K04"}, []string{afternoon.Part, afternoon.FamilyID, afternoon.DeviceID, afternoon.KitID})
	assert.Contains(t, afternoon.Methods, "PAIR_KIT")
	assert.Equal(t, s.id["Gideon"], afternoon.Assessor.ID)
	lastGood := map[string]*string{}
	for _, p := range morning.People {
		assert.Equal(t, "PAIR_KIT", p.Method)
		lastGood[p.Worker.ID] = p.LastGoodDay
	}
	require.NotNil(t, lastGood[s.id["Maren"]])
	var standing struct{ LastGoodDay string }
	s.into(groundhand.Coordinator, fmt.Sprintf(`{ standing(ask: {worker: %q, method: PAIR_KIT, role: LEAD, family: "F1"}) { lastGoodDay } }`, s.id["Maren"]), &standing)
	assert.Equal(t, standing.LastGoodDay, *lastGood[s.id["Maren"]], "as her standing says")
	aoife, among := lastGood[s.id["Aoife"]]
	assert.True(t, among)
	assert.Nil(t, aoife, "she never practised")
	assert.NotContains(t, lastGood, s.id["Gideon"], "nobody is judged by themselves")
	assert.Equal(t, len(morning.People), morning.PeopleInAll)

	short := s.drillsAt("VARROW", "2026-02-12", "(first: 1)")
	require.Len(t, short.Drills[0].People, 1)
	assert.Equal(t, s.id["Aoife"], short.Drills[0].People[0].Worker.ID, "who has lapsed comes first")
	assert.Equal(t, morning.PeopleInAll, short.Drills[0].PeopleInAll)

	s.make("setUnavailable", form{"workerId": s.id["Gideon"], "kind": "LEAVE", "fromAt": "2026-02-13T00:00:00Z", "toAt": "2026-02-14T00:00:00Z"})
	assert.Empty(t, s.drillsAt("VARROW", "2026-02-13", "").Drills, "the one assessor is away")
	assert.Empty(t, s.drillsAt("STENHOLT", "2026-02-12", "").Drills, "no device stands there")

	r := s.ask(s.token[groundhand.Coordinator], `{ drillsAt(yardId: "nowhere", on: "2026-02-12") { caution } }`, nil)
	assert.Equal(t, []string{"NOT_FOUND yardId"}, r.problems(), r.body)
	r = s.ask(s.token[groundhand.Coordinator], `{ drillsAt(yardId: "VARROW", on: "2026-02-12") { drills { people(first: 201) { method } } } }`, nil)
	assert.Equal(t, []string{"INVALID first", "INVALID first"}, r.problems(), r.body)
}

// On 20 February 2025 two of V1 were at a session of four hours in their own yard: twice 240 minutes, and half an hour for the visit.
func TestCrewHoursAgainstTheYearBefore(t *testing.T) {
	s := newScene(t)
	held := s.make("bookSession", form{"yardId": "VARROW", "startAt": "2025-02-20T08:00:00Z", "endAt": "2025-02-20T12:00:00Z", "methods": []string{"PAIR_KIT"}, "deviceId": "A04",
		"assessorId": s.id["Gideon"], "seats": 6})
	s.make("recordDrill", form{"sessionId": held, "runs": []form{with(runForm(s.id["Maren"], s.id["Tomasz"]), form{"on": "2025-02-20"})}})
	plan := s.planned(rotationForm(s))
	type crewTime struct {
		Crew                         *named
		MinutesProposed, MinutesHeld int
		HoursMore                    float64
	}
	var told struct {
		Plan                           struct{ Figures []figure }
		HeldFrom, HeldThrough, Caution string
		All                            crewTime
		Crews                          []crewTime
	}
	s.into(groundhand.Auditor, fmt.Sprintf(`{ crewHours(plan: %q) { plan { figures { level figure } } heldFrom heldThrough caution
  all { crew { id } minutesProposed minutesHeld hoursMore } crews { crew { id name } minutesProposed minutesHeld hoursMore } } }`, plan), &told)
	assert.Equal(t, []string{"2025-02-02", "2025-03-13"}, []string{told.HeldFrom, told.HeldThrough})
	assert.Contains(t, told.Caution, "licensed practice")
	assert.Nil(t, told.All.Crew)
	assert.Equal(t, 2*240+30, told.All.MinutesHeld)
	require.Equal(t, "MINUTES_AWAY", told.Plan.Figures[3].Level)
	assert.Equal(t, told.Plan.Figures[3].Figure, told.All.MinutesProposed, "what the plan itself counts")
	proposed, byCrew := 0, map[string]crewTime{}
	for _, c := range told.Crews {
		require.NotNil(t, c.Crew)
		proposed, byCrew[c.Crew.ID] = proposed+c.MinutesProposed, c
		assert.InDelta(t, float64(c.MinutesProposed-c.MinutesHeld)/60, c.HoursMore, 0.051)
	}
	assert.Equal(t, told.All.MinutesProposed, proposed)
	assert.Equal(t, 510, byCrew["V1"].MinutesHeld)
	assert.Zero(t, byCrew["V2"].MinutesHeld)
	assert.Positive(t, byCrew["V2"].MinutesProposed)
	r := s.ask(s.token[groundhand.Coordinator], `{ crewHours(plan: "p9") { caution } }`, nil)
	assert.Equal(t, []string{"NOT_FOUND plan"}, r.problems(), r.body)
}

type toldDays struct {
	DrillDays struct {
		AnyBelow, AnyShort bool
		Caution            string
		Days               []struct {
			On, Part                 string
			Crew                     named
			AtWork, Away             int
			Short, StandsDown, Below bool
			Words                    string
		}
	}
	Sessions []struct {
		Slot   offered
		Attend []struct{ Worker named }
	}
}

func (s *scene) drillDays(plan, window string) toldDays {
	s.t.Helper()
	var out toldDays
	s.into(groundhand.Coordinator, fmt.Sprintf(`{ plan(id: %q) { drillDays%s { anyBelow anyShort caution days { on part crew { id name } atWork away short standsDown below words } }
  sessions { slot %s attend { worker { id name } } } } }`, plan, window, slotFields), &out)
	return out
}

func TestWhichCrewsSendSomebodyToADrill(t *testing.T) {
	s := newScene(t)
	plan := s.planned(rotationForm(s))
	told := s.drillDays(plan, "")
	crewOf := map[string]string{}
	for i, name := range []string{"Maren", "Tomasz", "Keahi", "Linh", "Dov", "Aoife"} {
		crewOf[s.id[name]] = fmt.Sprintf("V%d", 1+i/3)
	}
	going := map[string]int{}
	for _, held := range told.Sessions {
		for _, who := range held.Attend {
			going[held.Slot.On+" "+crewOf[who.Worker.ID]]++
		}
	}
	away := map[string]int{}
	for _, d := range told.DrillDays.Days {
		assert.Equal(t, "am", d.Part)
		assert.Equal(t, 3, d.AtWork)
		assert.Equal(t, d.Away == 3, d.StandsDown)
		assert.Contains(t, d.Words, fmt.Sprintf("sends %d of 3", d.Away))
		away[d.On+" "+d.Crew.ID] += d.Away
	}
	require.NotEmpty(t, going)
	assert.Equal(t, going, away, "those who attend, and nobody else")
	assert.False(t, told.DrillDays.AnyBelow, "no plan leaves a crew short for a drill")
	assert.Contains(t, told.DrillDays.Caution, "licensed practice")
	assert.Empty(t, s.drillDays(plan, `(from: "2026-02-14")`).DrillDays.Days)
	assert.Empty(t, s.drillDays(plan, `(through: "2026-02-11")`).DrillDays.Days)

	late := s.planned(with(rotationForm(s), form{"slots": []form{slotForm(s, "wed-am", "2026-03-11")}}))
	told = s.drillDays(late, "")
	assert.True(t, told.DrillDays.AnyShort, "by then the practice of both crews has ended")
	assert.False(t, told.DrillDays.AnyBelow, "not because of the drill")
	require.NotEmpty(t, told.DrillDays.Days)
	assert.Contains(t, told.DrillDays.Days[0].Words, "whether anybody drills or not")
}

type toldUnplaced struct {
	Unplaced struct {
		Edges []struct {
			Cursor string
			Node   struct {
				Worker                  named
				Method, FamilyID, Words string
				DaysLapsed, OthersInAll int
				Reason                  *string
				Others                  []struct {
					Slot     offered
					Possible bool
					Words    string
				}
			}
		}
		PageInfo struct {
			HasNextPage bool
			EndCursor   *string
		}
		Caution string
	}
}

func (s *scene) unplaced(plan, page string) toldUnplaced {
	s.t.Helper()
	var out toldUnplaced
	s.into(groundhand.Coordinator, fmt.Sprintf(`{ plan(id: %q) { unplaced%s { edges { cursor node { worker { id name } method familyId words daysLapsed reason othersInAll
  others { slot %s possible words } } } pageInfo { hasNextPage endCursor } caution } } }`, plan, page, slotFields), &out)
	return out
}

// Where one renewal of a crew in six weeks is all that is wished, the others are not placed, and each morning says why.
func TestWhatAPlanDoesNotRenewAndWhy(t *testing.T) {
	s := newScene(t)
	plan := s.planned(with(rotationForm(s), form{"stagger": form{"most": 1, "days": 42}}))
	told := s.unplaced(plan, "")
	assert.Contains(t, told.Unplaced.Caution, "licensed practice")
	require.GreaterOrEqual(t, len(told.Unplaced.Edges), 4, "two of each crew")
	left := map[string]bool{}
	for _, e := range told.Unplaced.Edges {
		left[e.Node.Worker.ID] = true
		assert.NotEmpty(t, e.Node.Worker.Name)
		assert.Equal(t, "PAIR_KIT", e.Node.Method)
		assert.Contains(t, e.Node.Words, "not renewed")
		assert.Equal(t, 2, e.Node.OthersInAll, "two mornings; Sunday is none")
		require.Len(t, e.Node.Others, 2)
		for _, o := range e.Node.Others {
			assert.False(t, o.Possible)
			assert.Regexp(t, "^not possible: .+", o.Words)
		}
	}
	first := s.unplaced(plan, "(first: 1, others: 1)").Unplaced
	require.Len(t, first.Edges, 1)
	assert.Len(t, first.Edges[0].Node.Others, 1)
	assert.Equal(t, 2, first.Edges[0].Node.OthersInAll, "the one left off is counted")
	assert.True(t, first.PageInfo.HasNextPage)
	rest := s.unplaced(plan, fmt.Sprintf("(after: %q)", *first.PageInfo.EndCursor)).Unplaced
	assert.Len(t, rest.Edges, len(told.Unplaced.Edges)-1)
	for wrong, field := range map[string]string{"others: 0": "others", "others: 51": "others", "first: 0": "first"} {
		r := s.ask(s.token[groundhand.Coordinator], fmt.Sprintf(`{ plan(id: %q) { unplaced(%s) { caution } } }`, plan, wrong), nil)
		assert.Equal(t, []string{"INVALID " + field}, r.problems(), r.body)
	}
	assert.Empty(t, s.unplaced(s.planned(rotationForm(s)), "").Unplaced.Edges, "without the wish everybody finds a place")
}
