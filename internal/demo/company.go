package demo

import (
	"fmt"
	"slices"

	g "groundhand/internal/groundhand"
)

// The plain tables of the company in its small size: the yards of Varrow and Stenholt whole, and one crew of Quillmere.

type yardRow struct {
	id   g.YardID
	name string
}

var yards = []yardRow{{"VARROW", "Varrow"}, {"STENHOLT", "Stenholt"}, {"QUILLMERE", "Quillmere"}}

var roads = []struct {
	from, to g.YardID
	minutes  int
}{{"VARROW", "STENHOLT", 50}, {"VARROW", "QUILLMERE", 70}, {"STENHOLT", "QUILLMERE", 85}}

var families = []struct {
	id   g.FamilyID
	name string
}{
	{"F1", "Articulating, levers"}, {"F2", "Articulating, not over centre"}, {"F3", "Telescopic, levers"},
	{"F4", "Articulating-telescopic, electric panel"}, {"F5", "Tracked, remote control"},
}

// deviceRow: platform height and anchor height in centimetres, and the kit that rides on it.
type deviceRow struct {
	id               g.DeviceID
	family           g.FamilyID
	yard             g.YardID
	kind             string
	platform, anchor int
	kit              g.KitID
}

var devices = []deviceRow{
	{"A01", "F1", "VARROW", "articulating", 1200, 1000, "K01"}, {"A02", "F1", "VARROW", "articulating", 1300, 1050, "K02"},
	{"A03", "F1", "VARROW", "articulating", 1300, 1050, "K03"}, {"A04", "F1", "VARROW", "articulating", 1400, 1150, "K04"},
	{"B01", "F2", "VARROW", "articulating", 1100, 950, "K05"}, {"B02", "F2", "VARROW", "articulating", 1200, 1000, "K06"},
	{"T15", "F3", "VARROW", "telescopic", 1400, 1200, "K07"}, {"T16", "F3", "VARROW", "telescopic", 1500, 1250, "K08"},
	{"T17", "F3", "VARROW", "telescopic", 1600, 1300, "K09"},
	{"A05", "F1", "STENHOLT", "articulating", 1200, 1000, "K10"}, {"A06", "F1", "STENHOLT", "articulating", 1300, 1050, "K11"},
	{"B03", "F2", "STENHOLT", "articulating", 1200, 1000, "K12"}, {"T18", "F3", "STENHOLT", "telescopic", 1600, 1300, "K13"},
	{"E21", "F4", "STENHOLT", "articulating-telescopic", 1600, 1300, "K14"}, {"E22", "F4", "STENHOLT", "articulating-telescopic", 1800, 1300, "K15"},
	{"A07", "F1", "QUILLMERE", "articulating", 1300, 1050, "K16"}, {"A08", "F1", "QUILLMERE", "articulating", 1300, 1050, "K17"},
}

// kit45 are the kits with 45 m of rope; the others here have 60 m. All have four parts of line and keep 4 m as tail.
var kit45 = map[g.KitID]bool{"K05": true, "K12": true, "K13": true}

// spareKit stays in the store of Varrow.
const spareKit g.KitID = "K30"

type crewRow struct {
	id       g.CrewID
	name     string
	yard     g.YardID
	kind     g.CrewKind
	families g.List
	people   []personRow // foreman first
}

type personRow struct {
	name string
	year int // apprentice year when first recorded; 0: qualified
}

func people(names ...string) []personRow {
	rows := make([]personRow, len(names))
	for i, n := range names {
		rows[i].name = n
	}
	return rows
}

var crews = []crewRow{
	{"V1", "V1 line", "VARROW", g.LineCrew, g.List{"F1"}, people("Maren Oduya", "Tomasz Wieland", "Keahi Barrow", "Priya Nandakumar-Vell", "Lewis Achterberg")},
	{"V2", "V2 line", "VARROW", g.LineCrew, g.List{"F1"}, people("Ifeoma Castellane", "Dario Pellgrove", "Hana Sotomura", "Callum Reyvers", "Yusuf Demirkol-Ash")},
	{"V3", "V3 construction", "VARROW", g.LineCrew, g.List{"F2"}, []personRow{{"Bronagh Tiernan-Vale", 0}, {"Samuel Okwuosa-Lind", 0}, {"Linh Dao Trevant", 1},
		{"Mateus Quillard", 0}, {"Greta Halvorsby", 0}, {"Rohan Sekhavat", 0}}},
	{"V4", "V4 fault, day", "VARROW", g.FaultCrew, g.List{"F3"}, people("Astrid Munkelby", "Jamal Forrester-Iyo")},
	{"V5", "V5 fault, night", "VARROW", g.FaultCrew, g.List{"F3"}, people("Pavel Dragutin-Moss", "Siobhan Marsh-Adeyi")},
	{"V6", "V6 substation", "VARROW", g.SubstationCrew, g.List{"F3"}, people("Eun-ji Falkner", "Omar Belhadj-Stone", "Ngaire Pohatu-Reed", "Wiktor Lindqvist-Roe")},
	{"S1", "S1 line", "STENHOLT", g.LineCrew, g.List{"F1"}, people("Fiachra Dunmoor", "Amara Villeneuve-Oke", "Kofi Starling-Byrd", "Ines Barroso-Lind")},
	{"S2", "S2 line", "STENHOLT", g.LineCrew, g.List{"F4"}, people("Teuila Ranfurly", "Jonas Abernethie-Sow", "Meera Chandrasekar-Holt", "Piet Vandermoor", "Zofia Karlowitz-Bay")},
	{"S3", "S3 fault", "STENHOLT", g.FaultCrew, g.List{"F1"}, people("James Tallis", "Dilnoza Rahmonova-Pike")},
	{"Q1", "Q1 line", "QUILLMERE", g.LineCrew, g.List{"F1"}, people("Sunniva Ekdahl-Rix", "Bashir Omondi-Clay", "Rosalind Taumata-Fenn", "Luca Ferrantino-Ware")},
	{"RELIEF", "Relief pool", "VARROW", g.ReliefPool, g.List{"F1"}, people("Viggo Tandberg-Eze", "Leilani Crosswell", "Hamid Rostami-Gale", "Beatriz Anjos-Teague",
		"Owen Pryderi-Nash", "Chidi Eastmarch", "Saoirse Valkonen")},
}

// desk are the people around the crews, with the capacity in which they use the service.
var desk = []struct {
	name     string
	capacity g.Capacity
	grade    g.Grade
}{
	{"Henrike Amadi-Solbakk", g.Coordinator, g.Office}, {"Gideon Prewitt-Osei", g.Assessor, g.Qualified}, {"Sanna Kivela-Brooks", g.Assessor, g.Qualified},
	{"Petra Vanterpool-Ek", g.Dispatcher, g.Office}, {"Colette Marchbanks-Rao", g.HR, g.Office}, {"Lorcan Devereaux-Min", g.Inspector, g.Office},
	{"Abena Stockwell-Yu", g.Inspector, g.Office}, {"Miriam Achterlunt", g.Auditor, g.Office},
}

const (
	employer    = "Halverra Lines"
	coordinator = "Henrike Amadi-Solbakk"
	gideon      = "Gideon Prewitt-Osei"
	sanna       = "Sanna Kivela-Brooks"
	tomasz      = "Tomasz Wieland" // assesses for his crew and others on F1
	petra       = "Petra Vanterpool-Ek"
	colette     = "Colette Marchbanks-Rao"
	lorcan      = "Lorcan Devereaux-Min"
	abena       = "Abena Stockwell-Yu"
	apprentice  = "Linh Dao Trevant"
)

// namedWorkers gives everybody an identifier, desk first, then crew by crew.
func namedWorkers() map[string]g.WorkerID {
	out := map[string]g.WorkerID{}
	for _, name := range everybody() {
		out[name] = g.WorkerID(fmt.Sprintf("W%03d", len(out)+1))
	}
	return out
}

func everybody() []string {
	var out []string
	for _, d := range desk {
		out = append(out, d.name)
	}
	for _, c := range crews {
		out = append(out, c.names()...)
	}
	return out
}

func (c crewRow) names() []string {
	out := make([]string, len(c.people))
	for i, p := range c.people {
		out[i] = p.name
	}
	return out
}

func crewOf(id g.CrewID) crewRow {
	i := slices.IndexFunc(crews, func(c crewRow) bool { return c.id == id })
	return crews[i]
}
