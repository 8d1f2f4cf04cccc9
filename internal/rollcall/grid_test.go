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

// spare puts a good kit, fit to be put on a device, into the store of a yard.
func (w *town) spare(kit groundhand.KitID, like groundhand.DeviceID, yard groundhand.YardID) {
	w.t.Helper()
	w.equip(like, kit)
	add(w, groundhand.KitPlacing{ID: w.id(), Recorded: w.told("2024-02-01"), KitID: kit, YardID: yard})
}

// booked is work with one aloft near energised parts, in the field; the site allows the pair kit and, for crews of two, the lone one.
func (w *town) booked(id groundhand.JobID, crew groundhand.CrewID, device groundhand.DeviceID, kit groundhand.KitID, from, to string) {
	w.t.Helper()
	add(w, groundhand.Job{ID: id, Recorded: w.told("2025-06-09"), CrewID: crew, YardID: "Y1", StartAt: w.at(from), EndAt: w.at(to), DeviceID: device, KitID: kit, Aloft: 1,
		Methods: groundhand.List{"PAIR_KIT", "LONE_KIT"}, Near50V: groundhand.Yes, SiteKind: groundhand.FieldSite, CallPlan: groundhand.Yes})
}

// stormNight has V1, three people current on F1 as a pair; S3, James lone-current and Dilnoza as a pair on F1; and a visiting crew VIS of which vic and wes are current on F3.
func stormNight(t *testing.T) *town {
	w := goodLine(t)
	w.crew("S3", groundhand.FaultCrew, groundhand.List{"F1"}, "james", "dilnoza")
	w.run("james", "2025-02-03", groundhand.LoneKit, groundhand.Lone, "F1")
	w.current("F1", "dilnoza")
	w.crew("VIS", groundhand.LineCrew, groundhand.List{"F3"}, "vic", "wes", "xan")
	w.current("F3", "vic", "wes")
	for _, who := range []groundhand.WorkerID{"james", "dilnoza", "vic", "wes", "xan"} {
		w.firstAid(who, "2025-01-10")
	}
	for _, who := range []groundhand.WorkerID{"vic", "wes"} {
		add(w, groundhand.Employment{ID: w.id(), Recorded: w.told("2025-06-01"), WorkerID: who, Employer: "mutual aid (invented)", Relation: groundhand.Visitor, FromOn: day("2025-06-01")})
	}
	return w
}

func (w *town) night() rollcall.GridQuestion {
	return rollcall.GridQuestion{FromAt: w.at("2025-06-11 20:00"), UntilAt: w.at("2025-06-12 06:00")}
}

func (w *town) grid(q rollcall.GridQuestion) rollcall.Grid {
	w.t.Helper()
	got, err := w.roll.Grid(w.ctx, q)
	require.NoError(w.t, err)
	return got
}

// verdicts writes a grid as a line for each crew and device.
func verdicts(g rollcall.Grid) map[string]string {
	out := map[string]string{}
	for _, row := range g.Rows {
		for _, c := range row.Cells {
			key := fmt.Sprint(c.CrewID, " ", c.DeviceID)
			out[key] += map[readiness.Verdict]string{readiness.Ready: "R", readiness.Conditional: "C", readiness.CannotTell: "?", readiness.NotReady: "-"}[c.Verdict]
		}
	}
	return out
}

// The letters are one aloft, two aloft, one aloft in a crew of two, manual lowering only.
func TestWhatEveryCrewCanDoInAStorm(t *testing.T) {
	w := stormNight(t)
	g := w.grid(w.night())
	assert.Equal(t, map[string]string{
		"V1 A05":  "R---", // three current as a pair: one up leaves two below, two up leave one; nobody is lone-current; nobody practised manual lowering
		"V1 T18":  "----", // nobody on F3
		"S3 A05":  "--R-", // one up leaves one: never a pair; Dilnoza up leaves James
		"S3 T18":  "----",
		"VIS A05": "----",
		"VIS T18": "R---", // xan up leaves vic and wes
	}, verdicts(g))
	require.Len(t, g.Rows, 3)
	assert.Equal(t, groundhand.Visitor, g.Rows[2].Relation)
	assert.Equal(t, groundhand.Employee, g.Rows[1].Relation)
	cell := g.Rows[2].Cells[4]
	assert.Equal(t, rollcall.CellID{CrewID: "VIS", DeviceID: "T18", Kind: rollcall.OneAloft}, cell.CellID)
	assert.Equal(t, []groundhand.WorkerID{"xan"}, cell.Aloft)
	assert.Equal(t, w.night().UntilAt, cell.HoldsUntil)
	assert.Nil(t, cell.Then)
	assert.Equal(t, []rollcall.Look{rollcall.LookControls, rollcall.LookKit, rollcall.LookSuits}, cell.Looks)
	assert.Len(t, g.Kinds, 4)
}

func TestOnlyWhatIsAskedForIsInTheGrid(t *testing.T) {
	w := stormNight(t)
	w.device("H31", "")
	look := w.moment("2025-06-11 09:00")
	add(w, groundhand.Defect{ID: "D1", Recorded: look, DeviceID: "T18", Cause: groundhand.Workshop})
	w.crew("NIL", groundhand.LineCrew, groundhand.List{"F1"})
	w.booked("J-1", "S3", "A05", "", "2025-06-11 22:00", "2025-06-12 02:00")
	q := w.night()
	q.YardID, q.Kinds = "Y1", []rollcall.JobKind{rollcall.OneAloftLone, rollcall.OneAloft}
	g := w.grid(q)
	assert.Equal(t, map[string]string{"V1 A05": "R-", "V1 H31": "?-", "S3 A05": "-R", "S3 H31": "-?", "VIS A05": "--", "VIS H31": "?-", "NIL A05": "--", "NIL H31": "--"}, verdicts(g),
		"T18 is in the workshop; whichever family H31 is, it may be one that the crew knows or not; nobody is in NIL")
	booked := map[groundhand.CrewID][]groundhand.JobID{}
	for _, row := range g.Rows {
		booked[row.Crew.ID] = row.Booked
	}
	assert.Equal(t, map[groundhand.CrewID][]groundhand.JobID{"NIL": nil, "S3": {"J-1"}, "V1": nil, "VIS": nil}, booked)

	q.Crews, q.Devices = []groundhand.CrewID{"V1"}, []groundhand.DeviceID{"T18", "A05", "A05"}
	assert.Equal(t, map[string]string{"V1 A05": "R-", "V1 T18": "--"}, verdicts(w.grid(q)))
	q.Looks = rollcall.LooksRecorded
	assert.Equal(t, map[string]string{"V1 A05": "?-", "V1 T18": "--"}, verdicts(w.grid(q)), "nobody looked yet")
	q.YardID = "Y2"
	assert.Empty(t, w.grid(q).Rows)
}

func TestAGridIsRefusedAtOnce(t *testing.T) {
	w := stormNight(t)
	q := w.night()
	q.Kinds = []rollcall.JobKind{"FLYING"}
	q.UntilAt = q.FromAt
	_, err := w.roll.Grid(w.ctx, q)
	require.Len(t, groundhand.Refusals(err), 2)
	assert.Equal(t, "kinds[0]", groundhand.Refusals(err)[1].Field)
	q = w.night()
	q.Crews = []groundhand.CrewID{"V1", "ZZ"}
	_, err = w.roll.Grid(w.ctx, q)
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
	q = w.night()
	q.Devices = []groundhand.DeviceID{"ZZ"}
	_, err = w.roll.Grid(w.ctx, q)
	assert.ErrorIs(t, err, groundhand.CodeNotFound)
	q = w.night()
	q.UntilAt = q.FromAt + 32*24*60*60*1000
	_, err = w.roll.Grid(w.ctx, q)
	assert.ErrorIs(t, err, groundhand.CodeTooLarge)

	// 60 crews on 84 devices in four kinds are 20,160 cells, more than the 20,000 that are answered.
	var devices []groundhand.Device
	for i := range 82 {
		devices = append(devices, groundhand.Device{ID: groundhand.DeviceID(fmt.Sprintf("D%03d", i)), Recorded: w.told("2024-01-01"), FamilyID: "F1", YardID: "Y1"})
	}
	add(w, devices...)
	for i := range 57 {
		w.crew(groundhand.CrewID(fmt.Sprintf("E%02d", i)), groundhand.LineCrew, groundhand.List{"F1"})
	}
	q = w.night()
	for _, d := range append(devices, groundhand.Device{ID: "A05"}, groundhand.Device{ID: "T18"}) {
		q.Devices = append(q.Devices, d.ID)
	}
	_, err = w.roll.Grid(w.ctx, q)
	require.ErrorIs(t, err, groundhand.CodeTooLarge)
	assert.Contains(t, err.Error(), "20160")
}

func unlockLines(g rollcall.Grid) []string {
	var out []string
	for _, u := range g.Unlocks {
		out = append(out, fmt.Sprint(u.Do, " ", u.ID, ": ", u.Ready, u.Conditional))
	}
	return out
}

// The kit of A05 is worn: V1 with one aloft and S3 alone hang on it. One spare kit brings both back.
func TestASpareKitUnlocksMost(t *testing.T) {
	w := stormNight(t)
	add(w, groundhand.Defect{ID: "WORN", Recorded: w.moment("2025-06-11 18:00"), KitID: "K-A05", Cause: groundhand.DefectFound})
	w.spare("K29", "A05", "Y1")
	w.spare("K30", "A05", "Y2")
	g := w.grid(w.night())
	assert.Equal(t, "----", verdicts(g)["V1 A05"])
	assert.Equal(t, "----", verdicts(g)["S3 A05"])
	require.NotEmpty(t, g.Unlocks)
	best := g.Unlocks[0]
	assert.Equal(t, readiness.DoKit, best.Do)
	assert.Equal(t, "K29 on A05", best.ID)
	assert.Equal(t, []rollcall.CellID{{CrewID: "S3", DeviceID: "A05", Kind: rollcall.OneAloftLone}, {CrewID: "V1", DeviceID: "A05", Kind: rollcall.OneAloft}}, best.Ready)
	for _, u := range g.Unlocks {
		assert.NotEqual(t, groundhand.KitID("K30"), u.KitID, "it is in another yard")
	}

	// The same kit on T18's job tonight is not spare.
	w.booked("J-1", "VIS", "T18", "K29", "2025-06-11 22:00", "2025-06-12 02:00")
	for _, u := range w.grid(w.night()).Unlocks {
		assert.NotEqual(t, readiness.DoKit, u.Do)
	}
}

// Leilani of the relief pool is second on F1. With her V1 is four: two up leave two. With her S3 is three: James up leaves Dilnoza and her.
// In VIS she can go up with xan, while vic and wes stay below.
// Nobody of V1 is lent: with one less V1 could not send one aloft.
func TestSomebodyOfTheReliefPoolJoins(t *testing.T) {
	w := stormNight(t)
	w.crew("RELIEF", groundhand.ReliefPool, groundhand.List{"F1"}, "leilani", "hamid")
	w.run("leilani", "2025-02-03", groundhand.PairKit, groundhand.Second, "F1")
	w.run("hamid", "2025-02-03", groundhand.PairKit, groundhand.Second, "F1")
	w.away("hamid", groundhand.Rest, "2025-06-11 12:00", "2025-06-11 21:00")
	w.away("hamid", groundhand.NotForRescue, "2025-06-11 12:00", "")
	w.run("ann", "2025-02-03", groundhand.ManualLowering, groundhand.Lead, "F1")
	w.run("bob", "2025-02-03", groundhand.ManualLowering, groundhand.Lead, "F1")
	require.Equal(t, "R--C", verdicts(w.grid(w.night()))["V1 A05"])
	lines := unlockLines(w.grid(w.night()))
	assert.Equal(t, []string{
		"PERSON leilani from RELIEF to S3: [{S3 A05 ONE_ALOFT}] []",
		"PERSON leilani from RELIEF to V1: [{V1 A05 TWO_ALOFT}] []",
		"PERSON leilani from RELIEF to VIS: [{VIS T18 TWO_ALOFT}] []",
	}, lines, "hamid is at rest until nine and held back after, though he could go up; what was conditional stays so")

	// gil is a fourth in V1: of four current any one can go, and then V1 still sends one aloft.
	w.worker("gil", groundhand.Qualified)
	w.join("gil", "V1", groundhand.Permanent, "2024-01-01", "")
	w.current("F1", "gil")
	w.firstAid("gil", "2025-01-10")
	q := w.night()
	q.Kinds = []rollcall.JobKind{rollcall.OneAloft}
	lines = unlockLines(w.grid(q))
	assert.Contains(t, lines, "PERSON ann from V1 to S3: [{S3 A05 ONE_ALOFT}] []", "asked about one aloft only, V1 of four can spare one")
	for _, l := range unlockLines(w.grid(w.night())) {
		assert.NotContains(t, l, "from V1", "asked about two aloft too, it cannot")
	}
	w.booked("J-1", "V1", "A05", "", "2025-06-12 05:00", "2025-06-12 09:00")
	for _, l := range unlockLines(w.grid(q)) {
		assert.NotContains(t, l, "from V1", "it has a job")
	}
}

// Gideon is on shift from eight: a drill of 45 minutes ends at a quarter to nine. ann and bob, watched leading on F3, let cal go up on T18.
func TestAWatchedDrillUnlocks(t *testing.T) {
	w := stormNight(t)
	add(w, groundhand.Shift{ID: w.id(), Recorded: w.told("2025-06-10"), WorkerID: "gideon", YardID: "Y1", FromAt: w.at("2025-06-11 20:00"), ToAt: w.at("2025-06-12 02:00")})
	q := w.night()
	q.Crews, q.Kinds = []groundhand.CrewID{"V1"}, []rollcall.JobKind{rollcall.OneAloft}
	g := w.grid(q)
	assert.Equal(t, []string{
		"DRILL PAIR_KIT on F3, ann and bob, by gideon: [{V1 T18 ONE_ALOFT}] []",
		"DRILL PAIR_KIT on F3, ann and cal, by gideon: [{V1 T18 ONE_ALOFT}] []",
		"DRILL PAIR_KIT on F3, bob and cal, by gideon: [{V1 T18 ONE_ALOFT}] []",
	}, unlockLines(g))
	u := g.Unlocks[0]
	assert.Equal(t, w.at("2025-06-11 20:00"), u.StartAt)
	assert.Equal(t, w.at("2025-06-11 20:45"), u.From)
	assert.Equal(t, []groundhand.WorkerID{"ann", "bob"}, u.People)

	add(w, groundhand.Session{ID: groundhand.SessionID(w.id()), Recorded: w.told("2025-06-10"), YardID: "Y1", AssessorID: "gideon", StartAt: w.at("2025-06-11 20:00"), EndAt: w.at("2025-06-11 21:10"),
		Methods: groundhand.List{"PAIR_KIT"}, Seats: 4})
	g = w.grid(q)
	require.NotEmpty(t, g.Unlocks)
	assert.Equal(t, w.at("2025-06-11 21:55"), g.Unlocks[0].From, "he watches another one until ten past nine")
	w.away("ann", groundhand.Rest, "2025-06-11 21:20", "2025-06-11 21:30")
	assert.Equal(t, []string{"DRILL PAIR_KIT on F3, bob and cal, by gideon: [{V1 T18 ONE_ALOFT}] []"}, unlockLines(w.grid(q)), "ann is away during the drill")
}

func TestADrillNeedsAnAuthorityAndTime(t *testing.T) {
	w := stormNight(t)
	w.worker("tom", groundhand.Qualified)
	add(w, groundhand.Shift{ID: w.id(), Recorded: w.told("2025-06-10"), WorkerID: "tom", YardID: "Y1", FromAt: w.at("2025-06-11 20:00"), ToAt: w.at("2025-06-12 02:00")},
		groundhand.Shift{ID: w.id(), Recorded: w.told("2025-06-10"), WorkerID: "gideon", YardID: "Y1", FromAt: w.at("2025-06-11 20:00"), ToAt: w.at("2025-06-11 20:44")},
		groundhand.Shift{ID: w.id(), Recorded: w.told("2025-06-10"), WorkerID: "gideon", YardID: "Y2", FromAt: w.at("2025-06-11 20:00"), ToAt: w.at("2025-06-12 02:00")})
	assert.Empty(t, w.grid(w.night()).Unlocks, "tom may not assess, Gideon's shift here is a minute too short and the other is elsewhere")
}

// Every cell is the answer to its own question, and every change does what it says when it is really made or asked.
func TestACellIsTheAnswerToItsQuestion(t *testing.T) {
	w := stormNight(t)
	w.device("H31", "")
	w.spare("K29", "A05", "Y1")
	add(w, groundhand.Defect{ID: "WORN", Recorded: w.moment("2025-06-11 23:00"), KitID: "K-A05", Cause: groundhand.DefectFound})
	w.crew("RELIEF", groundhand.ReliefPool, groundhand.List{"F1"}, "leilani")
	w.run("leilani", "2025-02-03", groundhand.PairKit, groundhand.Second, "F1")
	w.run("ann", "2025-02-03", groundhand.ManualLowering, groundhand.Lead, "F1")
	w.run("bob", "2025-02-03", groundhand.ManualLowering, groundhand.Lead, "F1")
	w.away("cal", groundhand.Sick, "2025-06-12 03:00", "2025-06-13 00:00")
	w.join("vic", "S3", groundhand.Storm, "2025-06-12", "2025-06-12")
	add(w, groundhand.Shift{ID: w.id(), Recorded: w.told("2025-06-10"), WorkerID: "gideon", YardID: "Y1", FromAt: w.at("2025-06-11 19:30"), ToAt: w.at("2025-06-12 02:00")})
	seen := map[readiness.Do]int{}
	for _, q := range []rollcall.GridQuestion{w.night(), {FromAt: w.at("2025-06-13 22:00"), UntilAt: w.at("2025-06-14 06:00")}, {FromAt: w.at("2025-03-29 22:00"), UntilAt: w.at("2025-03-30 06:00"), Looks: rollcall.LooksRecorded}} {
		g := w.grid(q)
		for _, row := range g.Rows {
			for _, c := range row.Cells {
				require.NoError(t, c.Refused)
				a := w.cover(q.Ask(c.CellID))
				assert.Equal(t, a.Answer.Verdict, c.Verdict, c.CellID)
				assert.Equal(t, a.Answer.HoldsUntil.Verdict.At, c.HoldsUntil, c.CellID)
				assert.Equal(t, a.Answer.HoldsUntil.Then, c.Then, c.CellID)
				assert.Equal(t, a.Answer.Findings, c.Findings, c.CellID)
				assert.Equal(t, a.Looks, c.Looks, c.CellID)
			}
		}
		for _, u := range g.Unlocks {
			seen[u.Do]++
			w.unlocked(q, u)
		}
	}
	assert.Equal(t, 3, len(seen), "%v", seen)
}

// unlocked asks each cell of a change again with the change spelled out in the question.
func (w *town) unlocked(q rollcall.GridQuestion, u rollcall.Unlock) {
	w.t.Helper()
	ask := func(id rollcall.CellID) readiness.Verdict {
		c := q.Ask(id)
		switch u.Do {
		case readiness.DoKit:
			c.KitID = u.KitID
		case readiness.DoPerson:
			c.People = []groundhand.WorkerID{u.WorkerID}
		case readiness.DoDrill:
			c.FromAt = max(c.FromAt, u.From)
			again := w.cover(c).Question
			for i := range again.People {
				for _, who := range u.People {
					if again.People[i].ID == string(who) {
						again.People[i].OperatesLower = readiness.Yes
						again.People[i].Capabilities = append(again.People[i].Capabilities, readiness.Capability{Method: string(u.Method), Role: leadingRole(u.Method), Family: string(u.FamilyID),
							From: readiness.Edge{Day: day("2025-01-01")}, Through: day("2026-01-01"), State: readiness.Current})
					}
				}
			}
			a, err := readiness.Judge(again)
			require.NoError(w.t, err)
			return a.Verdict
		}
		return w.cover(c).Answer.Verdict
	}
	require.NotEmpty(w.t, append(u.Ready, u.Conditional...))
	for _, id := range u.Ready {
		assert.Equal(w.t, readiness.Ready, ask(id), "%s %v", u.ID, id)
	}
	for _, id := range u.Conditional {
		assert.Equal(w.t, readiness.Conditional, ask(id), "%s %v", u.ID, id)
	}
}

func leadingRole(m groundhand.Method) readiness.Role {
	if m == groundhand.LoneKit {
		return readiness.Lone
	}
	return readiness.Lead
}

// Pavel's practice ends with 29 March; in the night to 30 March the clocks of Dublin go forward at one.
func TestACellSaysUntilWhenItHolds(t *testing.T) {
	w := lineCrew(t, "ann", "bob", "cal", "pavel")
	w.current("F1", "ann")
	w.run("pavel", "2024-03-30", groundhand.PairKit, groundhand.Lead, "F1")
	w.away("ann", groundhand.Course, "2025-03-31 02:30", "2025-04-01 00:00")
	q := rollcall.GridQuestion{FromAt: w.at("2025-03-29 22:00"), UntilAt: w.at("2025-03-30 06:00"), Kinds: []rollcall.JobKind{rollcall.OneAloft}, Devices: []groundhand.DeviceID{"A05"}}
	c := w.grid(q).Rows[0].Cells[0]
	assert.Equal(t, readiness.NotReady, c.Verdict)
	assert.Equal(t, "2025-03-30T00:00:00Z", c.HoldsUntil.String())
	require.NotNil(t, c.Then)
	assert.Equal(t, readiness.NotReady, *c.Then, "until midnight ready, then only ann is current")
	assert.Empty(t, c.Aloft)
}

func TestStatementsOfAGridDoNotGrow(t *testing.T) {
	w := newTown(t)
	w.run("gideon", "2024-09-12", groundhand.PairKit, groundhand.Lead, "F1")
	w.manyCrews(0, 3)
	add(w, groundhand.Shift{ID: w.id(), Recorded: w.told("2025-06-10"), WorkerID: "gideon", YardID: "Y1", FromAt: w.at("2025-06-11 20:00"), ToAt: w.at("2025-06-12 02:00")})
	few := w.statements(func() { w.grid(w.night()) })
	w.manyCrews(3, 15)
	w.device("A06", "F1")
	w.device("A07", "F1")
	assert.Equal(t, few, w.statements(func() { w.grid(w.night()) }))
	t.Logf("grid %d statements", few)
}

// 20,000 cells are judged again at most: four changes of 5,000 cells, however many come to the same.
func TestTooManyChangesAreCounted(t *testing.T) {
	for _, c := range []struct {
		likeness      []string
		kept, leftOut int
	}{
		{[]string{"", "", "", ""}, 4, 0}, {[]string{"", "", "", "", "", ""}, 4, 2}, {[]string{"a", "a", "b", "a", "b", "", "", "a"}, 8, 0}, {[]string{"a", "b", "c", "d", "a", "e", "f"}, 5, 2},
	} {
		kept, leftOut := rollcall.Affordable(5000, c.likeness)
		assert.Equal(t, []int{c.kept, c.leftOut}, []int{kept, leftOut}, c.likeness)
	}
}

// A crew that was made for one night is gone when the night is over, unless somebody asks about it by name.
func TestACrewMadeForAStormIsGoneAfterIt(t *testing.T) {
	w := stormNight(t)
	add(w, groundhand.Crew{ID: "M9", Recorded: w.told("2025-01-20"), Name: "M9", YardID: "Y1", Kind: groundhand.LineCrew, NormalSize: 2, Families: groundhand.List{"F1"}})
	w.join("cal", "M9", groundhand.Storm, "2025-01-20", "2025-01-26")
	rows := func(q rollcall.GridQuestion) []groundhand.CrewID {
		var out []groundhand.CrewID
		for _, row := range w.grid(q).Rows {
			out = append(out, row.Crew.ID)
		}
		return out
	}
	assert.NotContains(t, rows(w.night()), groundhand.CrewID("M9"))
	assert.Contains(t, rows(rollcall.GridQuestion{FromAt: w.at("2025-01-21 07:00"), UntilAt: w.at("2025-01-21 15:00")}), groundhand.CrewID("M9"))
	asked := w.night()
	asked.Crews = []groundhand.CrewID{"M9"}
	assert.Equal(t, []groundhand.CrewID{"M9"}, rows(asked))
}
