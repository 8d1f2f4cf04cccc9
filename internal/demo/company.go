package demo

import (
	"fmt"
	"slices"

	g "groundhand/internal/groundhand"
)

// The plain tables of crews and people. Everybody's identifier follows from the order here, so new people are added at the end.

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
	{"V1", "V1 line", varrow, g.LineCrew, g.List{"F1"}, people("Maren Oduya", "Tomasz Wieland", "Keahi Barrow", "Priya Nandakumar-Vell", "Lewis Achterberg")},
	{"V2", "V2 line", varrow, g.LineCrew, g.List{"F1"}, people("Ifeoma Castellane", "Dario Pellgrove", "Hana Sotomura", "Callum Reyvers", "Yusuf Demirkol-Ash")},
	{"V3", "V3 construction", varrow, g.LineCrew, g.List{"F2"}, []personRow{{"Bronagh Tiernan-Vale", 0}, {"Samuel Okwuosa-Lind", 0}, {"Linh Dao Trevant", 1},
		{"Mateus Quillard", 0}, {"Greta Halvorsby", 0}, {"Rohan Sekhavat", 0}}},
	{"V4", "V4 fault, day", varrow, g.FaultCrew, g.List{"F3"}, people("Astrid Munkelby", "Jamal Forrester-Iyo")},
	{"V5", "V5 fault, night", varrow, g.FaultCrew, g.List{"F3"}, people("Pavel Dragutin-Moss", "Siobhan Marsh-Adeyi")},
	{"V6", "V6 substation", varrow, g.SubstationCrew, g.List{"F3"}, people("Eun-ji Falkner", "Omar Belhadj-Stone", "Ngaire Pohatu-Reed", "Wiktor Lindqvist-Roe")},
	{"S1", "S1 line", stenholt, g.LineCrew, g.List{"F1"}, people("Fiachra Dunmoor", "Amara Villeneuve-Oke", "Kofi Starling-Byrd", "Ines Barroso-Lind")},
	{"S2", "S2 line", stenholt, g.LineCrew, g.List{"F4"}, people("Teuila Ranfurly", "Jonas Abernethie-Sow", "Meera Chandrasekar-Holt", "Piet Vandermoor", "Zofia Karlowitz-Bay")},
	{"S3", "S3 fault", stenholt, g.FaultCrew, g.List{"F1"}, people("James Tallis", "Dilnoza Rahmonova-Pike")},
	{"Q1", "Q1 line", quillmere, g.LineCrew, g.List{"F1"}, people("Sunniva Ekdahl-Rix", "Bashir Omondi-Clay", "Rosalind Taumata-Fenn", "Luca Ferrantino-Ware")},
	{"RELIEF", "Relief pool", varrow, g.ReliefPool, g.List{"F1"}, people("Viggo Tandberg-Eze", "Leilani Crosswell", "Hamid Rostami-Gale", "Beatriz Anjos-Teague",
		"Owen Pryderi-Nash", "Chidi Eastmarch", "Saoirse Valkonen")},
	{"Q2", "Q2 line", quillmere, g.LineCrew, g.List{"F1"}, []personRow{{grainne, 0}, {"Anders Mwangi-Bly", 0}, {"Shreya Pillai-Ross", 0}, {"Conrad Tsosie-Wynn", 0},
		{"Malik Farquharson-Diallo", 2}}},
	{"Q3", "Q3 line", quillmere, g.LineCrew, g.List{"F2"}, []personRow{{"Ana-Lúcia Ferreira-Moor", 0}, {"Declan Szymborek", 0}, {"Jamie Tallis", 3}}},
	{"D1", "D1 line", hollow, g.LineCrew, g.List{"F1"}, []personRow{{ruaridh, 0}, {"Noor Haddad-Penn", 0}, {"Tadhg O'Shanley", 0}, {"Wanjiru Kestrelle", 3}}},
	{"C1", "C1, contractor", aldersett, g.LineCrew, g.List{"F4"}, []personRow{{"Marcus Ballantree-Ode", 0}, {"Yara Ilincic", 0}, {"Desmond Pikethorne", 0},
		{"Aroha Mitcheldean", 0}, {"Stefan Brocklebank-Ito", 1}}},
	{"C2", "C2, contractor", aldersett, g.LineCrew, g.List{"F3"}, []personRow{{"Katya Lormier", 0}, {"Uche Ravenhall", 0}, {"Pádraig Solheim-Kerry", 0}, {"Jun Takamori-Pell", 2}}},
	{"C3", "C3, contractor", aldersett, g.LineCrew, g.List{"F2"}, []personRow{{"Nils Overgaard-Smythe", 0}, {"Farah Quayson", 0}, {"Elio Brandeis-Moke", 0}, {"Tui Harkerside", 3}}},
	{"CPOOL", "Relief, contractor", aldersett, g.ReliefPool, g.List{"F2"}, people(gwen)},
}

// contractor says whether a crew belongs to the resident contractor.
func (c crewRow) contractor() bool { return c.yard == aldersett }

// deskRow is somebody around the crews and the capacity in which they use the service; empty: without an account.
type deskRow struct {
	name     string
	capacity g.Capacity
	grade    g.Grade
}

var desk = []deskRow{
	{coordinator, g.Coordinator, g.Office}, {gideon, g.Assessor, g.Qualified}, {sanna, g.Assessor, g.Qualified},
	{petra, g.Dispatcher, g.Office}, {colette, g.HR, g.Office}, {lorcan, g.Inspector, g.Office},
	{abena, g.Inspector, g.Office}, {"Miriam Achterlunt", g.Auditor, g.Office},
}

// moreDesk came into the tables later; see the remark on identifiers above.
var moreDesk = []deskRow{
	{idris, g.Dispatcher, g.Office}, {naledi, g.Dispatcher, g.Office}, {ulf, g.HR, g.Office},
	{"Dagny Rusholme", g.Auditor, g.Office}, // investigator
	{manager, g.Coordinator, g.Office},      // manager, who approves what others propose
}

const (
	employer     = "Halverra Lines"
	contractorCo = "Aldersett Line Contractors"
	coordinator  = "Henrike Amadi-Solbakk"
	gideon       = "Gideon Prewitt-Osei"
	sanna        = "Sanna Kivela-Brooks"
	tomasz       = "Tomasz Wieland" // assesses for his crew and others on F1
	grainne      = "Grainne Haverkamp"
	petra        = "Petra Vanterpool-Ek"
	idris        = "Idris Callowhill"
	naledi       = "Naledi Froste"
	colette      = "Colette Marchbanks-Rao"
	ulf          = "Ulf Teodorsen-Bright"
	lorcan       = "Lorcan Devereaux-Min"
	abena        = "Abena Stockwell-Yu"
	ruaridh      = "Ruaridh MacAskin-Oyelaran"
	gwen         = "Gwen Abasolo-Trent"
	apprentice   = "Linh Dao Trevant" // whose years are told in story.go
)

// crewAssessors sign in a second account.
var crewAssessors = []string{tomasz, grainne}

// ofTheContractor assesses for the contractor, in a second account too.
var ofTheContractor = []string{marcus}

// namedWorkers gives everybody an identifier: the first desk, then crew by crew, the later desk, the visitors of the storm.
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
	for _, d := range moreDesk {
		out = append(out, d.name)
	}
	for _, m := range visiting {
		out = append(out, m.names()...)
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

// foreman leads the crew and signs for it; a pool has none.
func (c crewRow) foreman() string {
	if c.kind == g.ReliefPool {
		return ""
	}
	return c.people[0].name
}

func crewOf(id g.CrewID) crewRow {
	all := slices.Concat(crews, visiting, halves)
	i := slices.IndexFunc(all, func(c crewRow) bool { return c.id == id })
	if i < 0 {
		panic("no crew " + id) // a mistake in the tables of this package
	}
	return all[i]
}
