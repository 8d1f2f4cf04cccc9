package graph_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

const (
	outlookParts = `on through crews { crew { id } relation members verdict why firstBad { at day verdict changes { edge of id words } } caution
		families { familyId verdict rescuers least belowTwo groundCover mayGoAloft { name } mustStayDown { worker { name } words } nMinus1 { secure hangsOn { worker { name } without } }
		findings { code words } conditions { code words } swap leansOn { worker { name } state without } firstBad { day } } } caution`
	gridParts = `from until ruleSetId kinds { kind words aloft methods } rows { crew { id } relation members { name } booked { id }
		cells { deviceId kind verdict holdsUntil then aloft { name } conditions { words } looksToMake { look } findings { words } why caution } }
		unlocks { do words kitId deviceId worker { name } lender { id } crew { id } assessor { name } method familyId people { name } startAt from ready { crewId deviceId kind } conditional { kind } caution } leftOut caution`
)

// Tomorrow V1 is without Keahi and cannot be sent; V2 hangs on everybody; the first bad moment of V2 is when its first-aid cards lapse.
func TestTheOutlookOfTheCompany(t *testing.T) {
	s, _, _ := shortHanded(t)
	got := s.get(groundhand.Coordinator, `{ outlook(on: "2025-06-12", days: 400) { `+outlookParts+` } }`).(map[string]any)
	assert.Equal(t, "2026-07-17", got["through"])
	crews := rows(got["crews"])
	require.Equal(t, []any{"V1", "V2"}, []any{crews[0]["crew"].(map[string]any)["id"], crews[1]["crew"].(map[string]any)["id"]}, "those not ready first; the pool is not sent out")
	assert.Equal(t, "NOT_READY", crews[0]["verdict"])
	assert.Equal(t, "READY", crews[1]["verdict"])
	assert.Equal(t, "EMPLOYEE", crews[1]["relation"])
	assert.NotEmpty(t, crews[1]["caution"])
	family := rows(crews[1]["families"])[0]
	assert.Equal(t, "F1", family["familyId"])
	assert.Equal(t, false, family["nMinus1"].(map[string]any)["secure"])
	bad := crews[1]["firstBad"].(map[string]any)
	assert.Equal(t, "2026-01-10", bad["day"], "the first-aid cards of 10 January 2025 are good through the day before the anniversary")
	assert.Contains(t, fmt.Sprint(bad["changes"]), "ends: first aid in date, ")
	r := s.ask(s.token[groundhand.Coordinator], `{ outlook(on: "2025-06-12", days: 401) { on } }`, nil)
	assert.Equal(t, []string{"INVALID days"}, r.problems(), r.body)
}

func TestTheCrewsOfAStorm(t *testing.T) {
	s, v1, _ := shortHanded(t)
	got := s.get(groundhand.Dispatcher, `{ stormGrid(ask: {from: "2025-06-12T06:00:00+01:00", until: "2025-06-12T14:00:00+01:00", yard: "VARROW", kinds: [ONE_ALOFT, MANUAL_ONLY]}) { `+gridParts+` } }`).(map[string]any)
	assert.Equal(t, []any{"ONE_ALOFT", "MANUAL_ONLY"}, column(got["kinds"], "kind"))
	lines := rows(got["rows"])
	require.Len(t, lines, 2)
	assert.Equal(t, []any{map[string]any{"id": v1}}, lines[0]["booked"])
	cells := rows(lines[0]["cells"])
	require.Len(t, cells, 4, "two devices by two kinds")
	assert.Equal(t, "NOT_READY", cells[0]["verdict"])
	assert.Contains(t, fmt.Sprint(cells[0]["findings"]), "no choice of who goes aloft leaves cover")
	assert.Equal(t, "READY", rows(lines[1]["cells"])[0]["verdict"])
	assert.NotEmpty(t, cells[0]["caution"])
	unlocks := rows(got["unlocks"])
	require.NotEmpty(t, unlocks)
	assert.Equal(t, "Gideon Oduya-Prewitt joins crew V1, lent by RELIEF", unlocks[0]["words"])
	assert.Len(t, unlocks[0]["ready"], 2, "with the kit, on either device")
	for name, c := range map[string]struct {
		more string
		want []string
	}{
		"unknown crews and devices": {`crews: ["V1", "V9"], devices: ["A99"]`, []string{"NOT_FOUND ask.crews[1]"}},
		"an unknown device":         {`devices: ["A04", "A99"]`, []string{"NOT_FOUND ask.devices[1]"}},
		"an unknown yard":           {`yard: "NOWHERE"`, []string{"NOT_FOUND ask.yard"}},
		"an unknown rule set":       {`ruleSet: "R99"`, []string{"NOT_FOUND ask.ruleSet"}},
	} {
		t.Run(name, func(t *testing.T) {
			r := s.ask(s.token[groundhand.Dispatcher], `{ stormGrid(ask: {from: "2025-06-12T06:00:00Z", until: "2025-06-12T14:00:00Z", `+c.more+`}) { leftOut } }`, nil)
			assert.ElementsMatch(t, c.want, r.problems(), r.body)
		})
	}
	r := s.ask(s.token[groundhand.Dispatcher], `{ stormGrid(ask: {from: "2025-06-12T06:00:00Z", until: "2025-06-11T14:00:00Z"}) { leftOut } }`, nil)
	assert.Equal(t, []string{"INVALID ask.until"}, r.problems(), r.body)
}

// A kit out of service this evening: the job that has it cannot be done with it any more; a kit that lies in the yard's store would do.
func TestTheEffectOfAKitOutOfService(t *testing.T) {
	s, v1, v2 := shortHanded(t)
	s.make("addKit", form{"on": "2025-06-01", "id": "K29", "parts": 4, "ropeCm": 6000, "tailCm": 400, "ratedLoadKg": 140, "inServiceOn": "2023-05-02"})
	s.make("placeKit", form{"on": "2025-06-01", "kitId": "K29", "yardId": "VARROW"})
	s.make("inspect", lookForm("kitId", "K29", "WEEKLY_OUTSIDE", "kit-outside-1", "2025-06-09"))
	s.make("inspect", lookForm("kitId", "K29", "MONTHLY_INSIDE", "kit-inside-1", "2025-06-02"))
	s.make("inspect", lookForm("kitId", "K29", "YEARLY", "kit-yearly-1", "2025-01-10"))
	before := s.rows()
	got := s.get(groundhand.Dispatcher, `{ effectOf(event: {at: "2025-06-11T20:00:00+01:00", kit: "K06"}) { at jobs { job { id } before { verdict caution } after { verdict findings { code } nMinus1 { secure } }
		why verdictChanges listsChange nMinus1Changes back { rung steps { do id words } verdict caution } kits { kitId yard { id } travelMinutes haveCm needCm ratedLoadKg readyAt } } leftOut caution } }`).(map[string]any)
	jobs := rows(got["jobs"])
	require.Len(t, jobs, 2)
	hit := jobs[0]
	assert.Equal(t, map[string]any{"id": v2}, hit["job"], "what changes stands first")
	assert.Equal(t, true, hit["verdictChanges"])
	assert.Equal(t, "READY", hit["before"].(map[string]any)["verdict"])
	assert.Equal(t, "NOT_READY", hit["after"].(map[string]any)["verdict"])
	assert.Contains(t, fmt.Sprint(hit["after"]), "KIT_OUT_OF_SERVICE")
	back := rows(hit["back"])
	require.NotEmpty(t, back)
	assert.Equal(t, "put kit K29 on the device", rows(back[0]["steps"])[0]["words"])
	kit := rows(hit["kits"])[0]
	assert.Equal(t, map[string]any{"kitId": "K29", "yard": map[string]any{"id": "VARROW"}, "travelMinutes": 0.0, "haveCm": 5600.0, "needCm": 4000.0, "ratedLoadKg": 140.0, "readyAt": nil}, kit)
	assert.Equal(t, map[string]any{"id": v1}, jobs[1]["job"])
	assert.Equal(t, false, jobs[1]["verdictChanges"])
	assert.Equal(t, before, s.rows(), "it is supposed only")
	for event, want := range map[string]string{
		`kit: "K99"`: "NOT_FOUND event", `device: "A99"`: "NOT_FOUND event", `worker: "x"`: "NOT_FOUND event", `entry: "x"`: "NOT_FOUND event", `kit: "K04", device: "A04"`: "INVALID event",
		`entry: "` + v1 + `"`: "INVALID event.entry",
	} {
		r := s.ask(s.token[groundhand.Dispatcher], `{ effectOf(event: {at: "2025-06-11T20:00:00+01:00", `+event+`}) { at } }`, nil)
		assert.Equal(t, []string{want}, r.problems(), r.body)
	}
}
