package graph_test

import (
	"context"
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// slotForm is a morning at Varrow that Gideon could lead.
func slotForm(s *scene, id, on string) form {
	return form{"id": id, "on": on, "part": "am", "yardId": "VARROW", "familyId": "F1", "deviceId": "A04", "assessorId": s.id["Gideon"], "methods": []string{"PAIR_KIT"},
		"seats": 8, "maxRuns": 8, "minutes": 240}
}

// rotationForm asks for the weeks before the practice of both crews ends, on 10 March 2026.
func rotationForm(s *scene) form {
	return form{"startOn": "2026-02-02", "endOn": "2026-03-13", "methods": []string{"PAIR_KIT"}, "seed": 7, "rounds": 200,
		"slots": []form{slotForm(s, "thu-am", "2026-02-12"), slotForm(s, "fri-am", "2026-02-13"), slotForm(s, "sun-am", "2026-02-15")}}
}

func (s *scene) workOff() {
	s.t.Helper()
	require.NoError(s.t, s.root.Desk.Planner().WorkOff(context.Background()))
}

// planned starts a rotation, has it worked out and gives the id of its plan.
func (s *scene) planned(f form) string {
	s.t.Helper()
	id := s.make("startRotation", f)
	s.workOff()
	var job struct{ Plan struct{ ID string } }
	s.into(groundhand.Coordinator, fmt.Sprintf(`{ rotationJob(id: %q) { plan { id } } }`, id), &job)
	require.NotEmpty(s.t, job.Plan.ID)
	return job.Plan.ID
}

// into asks a question and reads its one field.
func (s *scene) into(who groundhand.Capacity, query string, to any) {
	s.t.Helper()
	text, err := json.Marshal(s.get(who, query))
	require.NoError(s.t, err)
	require.NoError(s.t, json.Unmarshal(text, to))
}

type figure struct {
	Level              string
	Figure, Bound, Gap int
	Proved             bool
	Words              string
}

type named struct{ ID, Name string }

type offered struct {
	ID, On   string
	Yard     named
	Assessor *named
}

type toldPlan struct {
	Name, Caution string
	WhatIf        *string
	StoppedAfter  int
	Figures       []figure
	Rotation      *struct{ ID, State string }
	BasePlan      *struct{ ID string }
	AdoptedAt     *string
	Sessions      []struct {
		Slot   offered
		Attend []struct {
			Worker named
			Renews []string
		}
		Session *struct{ ID, StartAt string }
	}
	NotKeptCurrent []struct {
		Worker                      named
		Method, FamilyID            string
		DaysLapsed, UnavoidableDays int
		Reason, Words               string
		Chances                     []struct {
			Slot  offered
			Words string
		}
	}
	SlotsSetAside []struct{ SlotID, On, Words string }
}

const slotFields = `{ id on yard { id name } assessor { id name } }`

const planFields = `{ name caution whatIf stoppedAfter figures { level figure bound gap proved words } rotation { id state } basePlan { id } adoptedAt
  sessions { slot ` + slotFields + ` attend { worker { id name } renews } session { id startAt } }
  notKeptCurrent { worker { id name } method familyId daysLapsed unavoidableDays reason words chances { slot ` + slotFields + ` words } }
  slotsSetAside { slotId on words } }`

func TestARotationFromTheQuestionToTheDrill(t *testing.T) {
	s := newScene(t)
	started := s.make("startRotation", with(rotationForm(s), form{"name": "spring"}))
	state := fmt.Sprintf(`{ rotationJob(id: %q) { state name round rounds figures { figure } plan { id } failure clash { renews } leftOut { slotId } whatIf next { id } caution } }`, started)
	job := s.get(groundhand.Auditor, state).(map[string]any)
	assert.Equal(t, []any{"WAITING", "spring", 200.0, nil, nil, nil}, []any{job["state"], job["name"], job["rounds"], job["plan"], job["failure"], job["whatIf"]})
	assert.Contains(t, job["caution"], "licensed practice")

	s.workOff()
	job = s.get(groundhand.Coordinator, state).(map[string]any)
	assert.Equal(t, "PLANNED", job["state"])
	assert.Len(t, job["figures"], 6)
	plan := job["plan"].(map[string]any)["id"].(string)

	var told toldPlan
	s.into(groundhand.Coordinator, fmt.Sprintf(`{ plan(id: %q) %s }`, plan, planFields), &told)
	assert.Equal(t, "spring", told.Name)
	assert.Equal(t, started, told.Rotation.ID)
	assert.Nil(t, told.WhatIf)
	require.NotEmpty(t, told.Sessions)
	going := map[string]bool{}
	for _, held := range told.Sessions {
		assert.Equal(t, "Varrow", held.Slot.Yard.Name)
		assert.Equal(t, s.id["Gideon"], held.Slot.Assessor.ID)
		assert.Nil(t, held.Session, "nothing is booked yet")
		for _, who := range held.Attend {
			assert.NotEmpty(t, who.Worker.Name)
			going[who.Worker.ID] = true
		}
	}
	for _, name := range []string{"Maren", "Tomasz", "Keahi"} {
		assert.True(t, going[s.id[name]], name)
	}
	for i, level := range []string{"CREW_DAYS_SHORT", "LAPSED_DAYS", "SESSION_COST", "MINUTES_AWAY", "DAYS_OFF_AIM", "BUSIEST_ASSESSOR"} {
		f := told.Figures[i]
		assert.Equal(t, level, f.Level)
		assert.Equal(t, f.Figure-f.Bound, f.Gap)
		assert.Contains(t, f.Words, fmt.Sprint(f.Figure))
	}
	require.Len(t, told.SlotsSetAside, 1)
	assert.Equal(t, "sun-am", told.SlotsSetAside[0].SlotID)
	assert.Equal(t, "2026-02-15", told.SlotsSetAside[0].On)

	first := told.Sessions[0]
	r := s.change(s.token[groundhand.Coordinator], "adoptPlan", s.key(), form{"planId": plan, "slots": []string{first.Slot.ID}},
		"plan { adoptedAt } sessions { id startAt } bookings { worker { id } renews }")
	require.Empty(t, r.Errors, r.body)
	var adopted struct {
		Sessions []struct{ ID, StartAt string }
		Bookings []struct{ Worker named }
	}
	require.NoError(t, json.Unmarshal(r.Data["adoptPlan"], &adopted))
	require.Len(t, adopted.Sessions, 1)
	assert.Len(t, adopted.Bookings, len(first.Attend))
	told = toldPlan{}
	s.into(groundhand.Coordinator, fmt.Sprintf(`{ plan(id: %q) %s }`, plan, planFields), &told)
	require.NotNil(t, told.Sessions[0].Session, "the plan shows what is booked")
	assert.Equal(t, adopted.Sessions[0].ID, told.Sessions[0].Session.ID)
	assert.NotNil(t, told.AdoptedAt)

	var sheet struct {
		Caution string
		Parts   []struct {
			Runs []struct {
				Number             int
				Method             string
				Lead, Second, Lone *named
			}
			Figures []figure
		}
	}
	s.into(groundhand.Assessor, fmt.Sprintf(`{ runSheet(session: %q) { caution parts { runs { number method lead { id name } second { id name } lone { id } timekeeper { id } }
  figures { level figure bound proved words } } } }`, adopted.Sessions[0].ID), &sheet)
	require.Len(t, sheet.Parts, 1)
	leads := map[string]bool{}
	for i, run := range sheet.Parts[0].Runs {
		assert.Equal(t, i+1, run.Number)
		require.NotNil(t, run.Lead)
		require.NotNil(t, run.Second)
		assert.NotEqual(t, run.Lead.ID, run.Second.ID)
		leads[run.Lead.ID] = true
	}
	for _, who := range first.Attend {
		if len(who.Renews) > 0 {
			assert.True(t, leads[who.Worker.ID], "everybody who renews leads once")
		}
	}
	assert.Len(t, sheet.Parts[0].Figures, 6)
	assert.Contains(t, sheet.Caution, "licensed practice")
	assert.Empty(t, s.log.String())
}

func TestWhySomebodyDrillsThen(t *testing.T) {
	s := newScene(t)
	plan := s.planned(rotationForm(s))
	var why struct {
		Worker  named
		Caution string
		Choices []struct {
			Method, Words string
			DaysLapsed    int
			Slot          *offered
			Others        []struct {
				Slot     offered
				Possible bool
				Words    string
				Changes  []struct {
					Level string
					By    int
				}
			}
		}
	}
	s.into(groundhand.Coordinator, fmt.Sprintf(`{ whyThisSlot(plan: %q, worker: %q) { worker { id name } caution
  choices { method words daysLapsed slot %s others { slot %s possible words changes { level by } } } } }`, plan, s.id["Maren"], slotFields, slotFields), &why)
	assert.Equal(t, s.id["Maren"], why.Worker.ID)
	require.Len(t, why.Choices, 1)
	choice := why.Choices[0]
	assert.Equal(t, "PAIR_KIT", choice.Method)
	require.NotNil(t, choice.Slot)
	assert.Contains(t, choice.Words, choice.Slot.On)
	require.Len(t, choice.Others, 1, "the other morning; Sunday is no choice")
	assert.NotEqual(t, choice.Slot.ID, choice.Others[0].Slot.ID)
	assert.NotEmpty(t, choice.Others[0].Words)
	for name, c := range map[string][2]string{"an unknown plan": {"p9", s.id["Maren"]}, "an unknown worker": {plan, "w9"}} {
		r := s.ask(s.token[groundhand.Coordinator], fmt.Sprintf(`{ whyThisSlot(plan: %q, worker: %q) { caution } }`, c[0], c[1]), nil)
		assert.Equal(t, []string{"NOT_FOUND"}, r.codes(), name)
	}
}

func TestWhatIfAYardCloses(t *testing.T) {
	s := newScene(t)
	real := s.planned(rotationForm(s))
	ask := rotationForm(s)
	delete(ask, "slots") // those of the plan are offered again
	whatIf := s.planned(with(ask, form{"replanOf": real, "change": form{"closeYard": form{"yardId": "VARROW", "fromOn": "2026-02-02", "toOn": "2026-03-13"}}}))

	var told toldPlan
	s.into(groundhand.Coordinator, fmt.Sprintf(`{ plan(id: %q) %s }`, whatIf, planFields), &told)
	require.NotNil(t, told.WhatIf)
	assert.Equal(t, "What if VARROW is closed for drills from 2026-02-02 to 2026-03-13.", *told.WhatIf)
	assert.Equal(t, real, told.BasePlan.ID)
	assert.Empty(t, told.Sessions)
	require.NotEmpty(t, told.NotKeptCurrent)
	assert.NotEmpty(t, told.NotKeptCurrent[0].Worker.Name)
	assert.NotEmpty(t, told.NotKeptCurrent[0].Words)

	r := s.change(s.token[groundhand.Coordinator], "adoptPlan", s.key(), form{"planId": whatIf}, "plan { id }")
	assert.Equal(t, []string{"CONFLICT planId"}, r.problems(), r.body)
	assert.Contains(t, r.body, "what-if")

	var d struct {
		Caution string
		Figures []struct {
			Level             string
			Before, After, By int
			Words             string
		}
		Away struct {
			MinutesBefore, MinutesAfter int
			HoursMore                   float64
		}
		Crews []struct {
			Crew                        *named
			MinutesBefore, MinutesAfter int
		}
		Moved []struct {
			Worker   named
			From, To *offered
		}
		Lapses []struct {
			Worker                named
			DaysBefore, DaysAfter int
			Newly, NoLonger       bool
		}
		SafeAgainOn *string
	}
	s.into(groundhand.Auditor, fmt.Sprintf(`{ comparePlans(before: %q, after: %q) { caution figures { level before after by words } away { minutesBefore minutesAfter hoursMore }
  crews { crew { id name } minutesBefore minutesAfter } moved { worker { id name } from %s to %s } lapses { worker { id name } daysBefore daysAfter newly noLonger currentAgainOn } safeAgainOn } }`,
		real, whatIf, slotFields, slotFields), &d)
	require.Len(t, d.Figures, 6)
	assert.Equal(t, "LAPSED_DAYS", d.Figures[1].Level)
	assert.Positive(t, d.Figures[1].By)
	assert.Positive(t, d.Away.MinutesBefore)
	assert.Zero(t, d.Away.MinutesAfter)
	assert.InDelta(t, -float64(d.Away.MinutesBefore)/60, d.Away.HoursMore, 0.06)
	minutes := 0
	for _, c := range d.Crews {
		require.NotNil(t, c.Crew)
		minutes += c.MinutesBefore
	}
	assert.Equal(t, d.Away.MinutesBefore, minutes, "the crews are all there is")
	require.NotEmpty(t, d.Moved)
	assert.NotNil(t, d.Moved[0].From)
	assert.Nil(t, d.Moved[0].To)
	newly := 0
	for _, l := range d.Lapses {
		if l.Newly {
			newly++
		}
	}
	assert.Positive(t, newly)
	assert.Nil(t, d.SafeAgainOn, "nobody is current again in the window")
}

func TestWhoLapsesTogether(t *testing.T) {
	s := newScene(t)
	plan := s.planned(rotationForm(s))
	var clusters struct {
		Before, After []struct {
			Crew   *named
			Method string
			OneDay struct {
				Count   int
				FromOn  *string
				Workers []named
			}
			SixWeeks struct{ Count int }
		}
	}
	s.into(groundhand.Coordinator, fmt.Sprintf(`{ clusters(plan: %q) { before { crew { id name } method oneDay { count fromOn toOn workers { id name } } sixWeeks { count } }
  after { crew { id } method oneDay { count } sixWeeks { count } } caution } }`, plan), &clusters)
	require.NotEmpty(t, clusters.Before)
	v1 := clusters.Before[0]
	assert.Equal(t, "V1", v1.Crew.ID)
	assert.Equal(t, []int{3, 3}, []int{v1.OneDay.Count, v1.SixWeeks.Count}, "all three practised on one day")
	assert.Len(t, v1.OneDay.Workers, 3)
	require.NotEmpty(t, clusters.After)
}

func TestPlacesThatCannotBeKeptTogetherAreNamed(t *testing.T) {
	s := newScene(t)
	at := func(slot string) form {
		return form{"slotId": slot, "workerId": s.id["Maren"], "methods": []string{"PAIR_KIT"}}
	}
	started := s.make("startRotation", with(rotationForm(s), form{"pins": []form{at("thu-am"), at("fri-am")}}))
	s.workOff()
	var job struct {
		State, Failure, FailureWords string
		Clash                        []struct {
			Worker named
			Slot   offered
			Renews []string
		}
	}
	s.into(groundhand.Coordinator, fmt.Sprintf(`{ rotationJob(id: %q) { state failure failureWords clash { worker { id name } slot %s renews } } }`, started, slotFields), &job)
	assert.Equal(t, []string{"FAILED", "PINS_CLASH"}, []string{job.State, job.Failure})
	assert.Contains(t, job.FailureWords, "cannot be kept together")
	require.Len(t, job.Clash, 2)
	for _, seat := range job.Clash {
		assert.Equal(t, s.id["Maren"], seat.Worker.ID)
		assert.NotEmpty(t, seat.Slot.On)
	}
	r := s.ask(s.token[groundhand.Coordinator], fmt.Sprintf(`mutation { stopRotation(id: %q) { state } }`, started), nil)
	require.Empty(t, r.Errors, r.body)
	assert.Contains(t, r.body, "FAILED", "what has ended stays as it is")
}

// However many rotations there are, they are asked for in as many statements.
func TestAListOfRotationsIsNotLookedUpOneByOne(t *testing.T) {
	s := newScene(t)
	s.root.Wait = 100 * time.Millisecond // however slow the machine, siblings are gathered
	count := func() uint64 {
		before := s.store.Statements()
		page := s.get(groundhand.Coordinator, `{ rotationJobs { edges { node { id state figures { figure } plan { id adoptedAt rotation { id } sessions { slot { yard { id } assessor { id } } attend { worker { name } } session { id } } } } } } }`)
		require.NotEmpty(t, page.(map[string]any)["edges"])
		return s.store.Statements() - before
	}
	s.planned(rotationForm(s))
	one := count()
	for range 3 {
		s.planned(rotationForm(s))
	}
	assert.Equal(t, one, count())
}

func TestAForemanReadsTheRunSheetsOfTheOwnCrew(t *testing.T) {
	s := newScene(t)
	book := func(day string, names ...string) string {
		f := form{"yardId": "VARROW", "startAt": day + "T08:00:00+01:00", "endAt": day + "T12:00:00+01:00", "methods": []string{"PAIR_KIT"}, "deviceId": "A04", "assessorId": s.id["Gideon"], "seats": 6}
		var seats []form
		for _, name := range names {
			seats = append(seats, form{"workerId": s.id[name], "renews": []string{"PAIR_KIT"}})
		}
		f["bookings"] = seats
		return s.make("bookSession", f)
	}
	own, strange := book("2025-06-24", "Keahi", "Linh"), book("2025-06-25", "Dov", "Linh")
	query := `{ runSheet(session: %q) { parts { runs { lead { id } second { id } } } } }`
	r := s.ask(s.token[groundhand.CrewForeman], fmt.Sprintf(query, own), nil)
	require.Empty(t, r.Errors, r.body)
	assert.Contains(t, r.body, s.id["Keahi"])
	r = s.ask(s.token[groundhand.CrewForeman], fmt.Sprintf(query, strange), nil)
	assert.Equal(t, []string{"FORBIDDEN"}, r.codes(), r.body)
	assert.NotContains(t, r.body, s.id["Dov"])
	r = s.ask(s.token[groundhand.Coordinator], `{ runSheet(session: "s9") { caution } }`, nil)
	assert.Equal(t, []string{"NOT_FOUND"}, r.codes(), r.body)
}
