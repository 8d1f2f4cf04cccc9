package demo

import g "groundhand/internal/groundhand"

// The calendar of practice. Crews are refreshed once a year; the crews of two learn the lone method when a rule asks for it; a few field
// drills come unannounced. Three days stand apart because a story hangs on them: see story.go.

// both is what a yearly refresher of a crew practises.
var both = []g.Method{g.PairKit, g.ManualLowering}

var (
	lone     = []g.Method{g.LoneKit}
	pair     = []g.Method{g.PairKit}
	pairLone = []g.Method{g.PairKit, g.LoneKit}
	allThree = []g.Method{g.PairKit, g.ManualLowering, g.LoneKit}
)

// practice is one session. People take turns: each leads once, the next one on the list is second.
type practice struct {
	start, end string
	device     g.DeviceID
	assessor   string // empty: nobody is assessed, the runs alone are recorded
	methods    []g.Method
	people     []string
	partner    string // second to a single person, not assessed
	crew       g.CrewID
	stale      bool // nobody has run for ten months
}

func (c practice) everyone() []string {
	if len(c.people) > 0 || c.crew == "" {
		return c.people
	}
	return crewOf(c.crew).names()
}

// refreshers are booked a month ahead, announced and assessed.
var refreshers = []practice{
	{start: "2024-01-23 08:00", end: "2024-01-23 13:00", device: "A01", assessor: gideon, methods: both, crew: "V1", stale: true},
	{start: "2024-02-29 08:00", end: "2024-02-29 12:30", device: "T16", assessor: sanna, methods: both, crew: "V6", stale: true},
	{start: "2024-03-12 08:00", end: "2024-03-12 13:00", device: "E21", assessor: gideon, methods: both, crew: "S2", stale: true},
	{start: "2024-03-12 15:00", end: "2024-03-12 17:30", device: "T17", assessor: sanna, methods: both, crew: "V5", stale: true},
	{start: "2024-03-26 08:00", end: "2024-03-26 11:00", device: "T15", assessor: sanna, methods: both, crew: "V4", stale: true},
	{start: "2024-04-16 08:00", end: "2024-04-16 14:00", device: "B01", assessor: sanna, methods: both, crew: "V3", stale: true},
	{start: "2024-05-14 08:00", end: "2024-05-14 11:00", device: "A02", assessor: gideon, methods: both,
		people: []string{"Viggo Tandberg-Eze", "Leilani Crosswell"}, stale: true},
	{start: "2024-05-21 08:00", end: "2024-05-21 11:00", device: "A06", assessor: gideon, methods: both, crew: "S3", stale: true},
	{start: "2024-06-06 08:00", end: "2024-06-06 13:00", device: "A04", assessor: gideon, methods: both, crew: "V2"},
	{start: "2024-06-11 08:00", end: "2024-06-11 11:00", device: "A02", assessor: sanna, methods: both,
		people: []string{"Owen Pryderi-Nash", "Saoirse Valkonen"}, stale: true},
	{start: "2024-07-09 13:00", end: "2024-07-09 16:00", device: "A02", assessor: gideon, methods: both,
		people: []string{"Hamid Rostami-Gale", "Beatriz Anjos-Teague"}},
	{start: "2024-08-20 08:00", end: "2024-08-20 10:00", device: "A06", assessor: gideon, methods: lone, people: []string{"James Tallis"}},
	{start: "2024-08-27 08:00", end: "2024-08-27 10:30", device: "T15", assessor: sanna, methods: lone, crew: "V4"},
	{start: "2024-09-03 08:30", end: "2024-09-03 13:00", device: "A07", assessor: gideon, methods: both, crew: "Q1", stale: true},
	{start: "2024-11-12 15:00", end: "2024-11-12 17:00", device: "T17", assessor: gideon, methods: lone, crew: "V5"},
	{start: "2024-12-10 08:00", end: "2024-12-10 11:00", device: "A05", assessor: gideon, methods: both,
		people: []string{"Fiachra Dunmoor", "Amara Villeneuve-Oke"}, stale: true},
	{start: "2024-12-19 08:00", end: "2024-12-19 11:00", device: "A05", assessor: gideon, methods: both,
		people: []string{"Kofi Starling-Byrd", "Ines Barroso-Lind"}, stale: true},
	{start: "2025-01-14 08:00", end: "2025-01-14 13:00", device: "A01", assessor: sanna, methods: both, crew: "V1"},
	{start: "2025-01-28 08:00", end: "2025-01-28 11:00", device: "A02", assessor: gideon, methods: both,
		people: []string{"Chidi Eastmarch", "Hamid Rostami-Gale"}, stale: true},
	{start: "2025-02-04 08:00", end: "2025-02-04 10:00", device: "A06", assessor: gideon, methods: lone, people: []string{"James Tallis"}},
	{start: "2025-02-20 08:00", end: "2025-02-20 12:00", device: "T16", assessor: sanna, methods: both,
		people: []string{"Eun-ji Falkner", "Omar Belhadj-Stone", "Ngaire Pohatu-Reed"}, stale: true},
	{start: "2025-02-25 08:00", end: "2025-02-25 12:00", device: "T15", assessor: sanna, methods: pairLone, crew: "V4"},
	{start: "2025-03-04 08:00", end: "2025-03-04 13:00", device: "E21", assessor: gideon, methods: both, crew: "S2", stale: true},
	{start: "2025-03-05 08:00", end: "2025-03-05 10:30", device: "T16", assessor: sanna, methods: both,
		people: []string{"Wiktor Lindqvist-Roe"}, partner: "Ngaire Pohatu-Reed", stale: true},
	{start: "2025-04-08 08:00", end: "2025-04-08 14:00", device: "B01", assessor: sanna, methods: both,
		people: []string{"Bronagh Tiernan-Vale", "Samuel Okwuosa-Lind", apprentice, "Mateus Quillard", "Rohan Sekhavat"}}, // Greta is away for long
	{start: "2025-05-06 13:00", end: "2025-05-06 16:30", device: "A02", assessor: tomasz, methods: both,
		people: []string{"Viggo Tandberg-Eze", "Leilani Crosswell", "Owen Pryderi-Nash"}, stale: true},
	{start: "2025-05-13 08:00", end: "2025-05-13 11:00", device: "A06", assessor: gideon, methods: both, crew: "S3"},
	{start: "2025-05-20 08:00", end: "2025-05-20 11:00", device: "A04", assessor: gideon, methods: both,
		people: []string{"Ifeoma Castellane", "Hana Sotomura"}, stale: true},

	{start: "2024-01-12 08:30", end: "2024-01-12 13:00", device: "T24", assessor: sanna, methods: both, crew: "C2", stale: true},
	{start: "2024-02-06 09:00", end: "2024-02-06 14:30", device: "E25", assessor: gideon, methods: both, crew: "C1", stale: true},
	{start: "2024-02-13 10:00", end: "2024-02-13 15:00", device: "A09", assessor: gideon, methods: both, crew: "D1", stale: true},
	{start: "2024-02-20 09:00", end: "2024-02-20 14:30", device: "B05", assessor: sanna, methods: both, people: c3AndRelief, stale: true},
	{start: "2024-05-07 08:30", end: "2024-05-07 12:00", device: "B04", assessor: sanna, methods: both, crew: "Q3", stale: true},
	{start: "2024-10-22 08:00", end: "2024-10-22 13:00", device: "A07", assessor: gideon, methods: both, crew: "Q2", stale: true},
	{start: "2024-11-12 08:00", end: "2024-11-12 11:00", device: "E23", assessor: gideon, methods: pair, crew: "Q1"},
	{start: "2025-01-16 08:30", end: "2025-01-16 13:00", device: "T24", assessor: sanna, methods: both, crew: "C2", stale: true},
	{start: "2025-02-04 11:30", end: "2025-02-04 16:30", device: "E25", assessor: gideon, methods: both, crew: "C1", stale: true},
	{start: "2025-02-11 09:30", end: "2025-02-11 14:30", device: "A09", assessor: gideon, methods: both, crew: "D1", stale: true},
	{start: "2025-02-13 09:00", end: "2025-02-13 14:30", device: "B05", assessor: sanna, methods: both, people: c3AndRelief, stale: true},
	{start: "2025-04-15 08:30", end: "2025-04-15 12:00", device: "B04", assessor: sanna, methods: both, crew: "Q3", stale: true},
	{start: "2025-04-29 08:00", end: "2025-04-29 13:00", device: "T18", assessor: sanna, methods: both, crew: "S2"}, // on another control family
}

var c3AndRelief = append(crewOf("C3").names(), gwen)

// own are the assessors' own runs, without which their word counts for nothing. Each is watched by the other or by a crew assessor.
var own = []struct {
	start    string
	devices  []g.DeviceID
	methods  []g.Method
	lead     string
	second   string
	watching string
}{
	{"2024-04-17 08:00", []g.DeviceID{"A03", "B02", "T15"}, allThree, gideon, "Hamid Rostami-Gale", sanna},
	{"2024-04-18 09:00", []g.DeviceID{"E22"}, both, gideon, "Hamid Rostami-Gale", sanna},
	{"2024-10-16 08:00", []g.DeviceID{"A03", "T15"}, lone, gideon, "", tomasz},
	{"2024-12-03 08:00", []g.DeviceID{"A03", "B02", "T15"}, allThree, sanna, gideon, tomasz},
	{"2024-12-04 09:00", []g.DeviceID{"E22"}, both, sanna, gideon, tomasz},
	{"2025-04-09 08:00", []g.DeviceID{"A03", "B02", "T15"}, allThree, gideon, sanna, tomasz},
	{"2025-04-10 09:00", []g.DeviceID{"E22"}, both, gideon, sanna, tomasz},
	{"2025-04-11 08:00", []g.DeviceID{"A03", "T15"}, lone, sanna, "", gideon},
}

// fieldDrills come unannounced, one run each, watched and not assessed.
var fieldDrills = []struct {
	start        string
	device       g.DeviceID
	method       g.Method
	lead, second string
}{
	{"2024-02-14 10:40", "A04", g.PairKit, "Callum Reyvers", "Yusuf Demirkol-Ash"},
	{"2024-05-15 09:50", "A01", g.PairKit, "Keahi Barrow", "Priya Nandakumar-Vell"},
	{"2024-06-19 14:10", "T15", g.PairKit, "Astrid Munkelby", "Jamal Forrester-Iyo"},
	{"2024-09-12 11:20", "E21", g.PairKit, "Jonas Abernethie-Sow", "Piet Vandermoor"},
	{"2024-09-19 10:05", "B01", g.PairKit, "Greta Halvorsby", "Mateus Quillard"},
	{"2024-10-10 13:30", "T16", g.PairKit, "Omar Belhadj-Stone", "Ngaire Pohatu-Reed"},
	{"2024-11-07 15:05", "A02", g.PairKit, "Lewis Achterberg", "Maren Oduya"},
	{"2024-11-26 10:15", "A04", g.ManualLowering, "Ifeoma Castellane", "Hana Sotomura"},
	{"2025-01-22 09:30", "B02", g.PairKit, "Rohan Sekhavat", "Samuel Okwuosa-Lind"},
	{"2025-04-10 10:30", "A05", g.PairKit, "Amara Villeneuve-Oke", "Kofi Starling-Byrd"},
	{"2024-07-18 10:20", "A08", g.PairKit, "Anders Mwangi-Bly", "Shreya Pillai-Ross"},
	{"2024-09-05 13:15", "A09", g.ManualLowering, "Noor Haddad-Penn", "Tadhg O'Shanley"},
	{"2024-11-05 10:05", "E26", g.PairKit, "Marcus Ballantree-Ode", "Yara Ilincic"},
	{"2025-03-18 09:40", "A06", g.PairKit, "Jonas Abernethie-Sow", "Dilnoza Rahmonova-Pike"}, // who may be lent to S1 since
	{"2025-05-15 11:10", "A07", g.PairKit, "Conrad Tsosie-Wynn", grainne},
	{"2025-05-22 10:15", "T17", g.PairKit, "Ifeoma Castellane", "Jamal Forrester-Iyo"}, // the one of V2 who knows both families
}

// openingDays are the days of the one practice that was taken over for each person, by crew; a few people differ.
var openingDays = map[g.CrewID]string{
	"V1": "2023-01-24", "V2": "2023-06-08", "V3": "2023-04-18", "V4": "2023-03-28", "V5": "2023-03-14", "V6": "2023-03-02",
	"S1": "2023-11-20", "S2": "2023-03-14", "S3": "2023-05-23", "Q1": "2023-09-05", "RELIEF": "2023-07-11",
	"Q2": "2023-10-24", "Q3": "2023-05-16", "D1": "2023-02-21", "C1": "2023-02-14", "C2": "2023-01-17", "C3": "2023-02-28", "CPOOL": "2023-02-28",
}

var openingDaysOf = map[string]string{
	"Viggo Tandberg-Eze": "2023-05-16", "Leilani Crosswell": "2023-05-16", "Owen Pryderi-Nash": "2023-06-13", "Saoirse Valkonen": "2023-06-13",
	"Chidi Eastmarch": "2023-11-27", gideon: "2023-04-20", sanna: "2023-10-16",
}

// firstAidDays are the days of the classes, by crew; a few people went with others.
var firstAidDays = map[g.CrewID][]string{
	"V1": {"2023-09-12", "2024-09-03"}, "V2": {"2023-10-10", "2024-10-01"}, "V3": {"2023-11-14", "2024-11-05"},
	"V4": {"2023-05-16", "2024-05-07", "2025-04-29"}, "V5": {"2023-10-10", "2024-10-01"}, "V6": {"2023-06-20", "2024-06-11", "2025-06-03"},
	"S1": {"2023-08-22", "2024-08-13"}, "S2": {"2023-04-18", "2024-04-09", "2025-04-01"}, "S3": {"2023-12-05", "2024-11-26"},
	"Q1": {"2023-09-26", "2024-09-17"}, "RELIEF": {"2023-07-18", "2024-07-09"},
	"Q2": {"2023-08-29", "2024-08-20"}, "Q3": {"2023-10-17", "2024-10-08"}, "D1": {"2023-11-21", "2024-11-12"}, "C1": {"2023-07-11", "2024-07-02"},
	"C2": {"2023-09-19", "2024-09-10"}, "C3": {"2023-12-12", "2024-12-03"}, "CPOOL": {"2023-12-12", "2024-12-03"},
}

var firstAidDaysOf = map[string][]string{
	"Pavel Dragutin-Moss": {"2023-03-14", "2024-03-09", "2025-03-10"},
	gideon:                {"2023-09-12", "2024-09-03"}, sanna: {"2023-09-12", "2024-09-03"},
}
