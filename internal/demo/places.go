package demo

import g "groundhand/internal/groundhand"

// The plain tables of places, devices and kits.

type yardRow struct {
	id   g.YardID
	name string
}

const (
	varrow    g.YardID = "VARROW"
	stenholt  g.YardID = "STENHOLT"
	quillmere g.YardID = "QUILLMERE"
	hollow    g.YardID = "DRAY_HOLLOW" // remote, without a signal
	aldersett g.YardID = "ALDERSETT"   // of the resident contractor
)

var yards = []yardRow{{varrow, "Varrow"}, {stenholt, "Stenholt"}, {quillmere, "Quillmere"}, {hollow, "Dray Hollow"}, {aldersett, "Aldersett"}}

var roads = []struct {
	from, to g.YardID
	minutes  int
}{
	{varrow, stenholt, 50}, {varrow, quillmere, 70}, {stenholt, quillmere, 85},
	{hollow, quillmere, 60}, {hollow, stenholt, 120}, {hollow, varrow, 110},
	{aldersett, varrow, 40}, {aldersett, stenholt, 45}, {aldersett, quillmere, 95}, {aldersett, hollow, 130},
}

var families = []struct {
	id   g.FamilyID
	name string
}{
	{"F1", "Articulating, levers"}, {"F2", "Articulating, not over centre"}, {"F3", "Telescopic, levers"},
	{"F4", "Articulating-telescopic, electric panel"}, {"F5", "Tracked, remote control"},
}

// deviceRow: platform height and anchor height in centimetres, and the kit that rides on it. An anchor of 0: none is known.
type deviceRow struct {
	id               g.DeviceID
	family           g.FamilyID
	yard             g.YardID
	kind             string
	platform, anchor int
	kit              g.KitID
}

const (
	articulating = "articulating"
	telescopic   = "telescopic"
	elbowed      = "articulating-telescopic"
	tracked      = "tracked"
)

var devices = []deviceRow{
	{"A01", "F1", varrow, articulating, 1200, 1000, "K01"}, {"A02", "F1", varrow, articulating, 1300, 1050, "K02"},
	{"A03", "F1", varrow, articulating, 1300, 1050, "K03"}, {"A04", "F1", varrow, articulating, 1400, 1150, "K04"},
	{"B01", "F2", varrow, articulating, 1100, 950, "K05"}, {"B02", "F2", varrow, articulating, 1200, 1000, "K06"},
	{"T15", "F3", varrow, telescopic, 1400, 1200, "K07"}, {"T16", "F3", varrow, telescopic, 1500, 1250, "K08"},
	{"T17", "F3", varrow, telescopic, 1600, 1300, "K09"},
	{"A05", "F1", stenholt, articulating, 1200, 1000, "K10"}, {"A06", "F1", stenholt, articulating, 1300, 1050, "K11"},
	{"B03", "F2", stenholt, articulating, 1200, 1000, "K12"}, {"T18", "F3", stenholt, telescopic, 1600, 1300, "K13"},
	{"E21", "F4", stenholt, elbowed, 1600, 1300, "K14"}, {"E22", "F4", stenholt, elbowed, 1800, 1300, "K15"},
	{"A07", "F1", quillmere, articulating, 1300, 1050, "K16"}, {"A08", "F1", quillmere, articulating, 1300, 1050, "K17"},
	{"B04", "F2", quillmere, articulating, 1200, 1000, "K18"}, {"T19", "F3", quillmere, telescopic, 1400, 1200, "K19"},
	{"E23", "F4", quillmere, elbowed, 1500, 1250, "K20"}, {"R27", "F5", quillmere, tracked, 1200, 0, "K21"},
	{"A09", "F1", hollow, articulating, 1300, 1050, "K22"}, {"T20", "F3", hollow, telescopic, 1300, 1100, "K23"},
	{"B05", "F2", aldersett, articulating, 1200, 1000, "K24"}, {"T24", "F3", aldersett, telescopic, 1500, 1250, "K25"},
	{"E25", "F4", aldersett, elbowed, 1400, 1200, "K26"}, {"E26", "F4", aldersett, elbowed, 2000, 1400, "K27"},
	{"R28", "F5", aldersett, tracked, 1500, 0, "K28"},
}

// Ropes and parts of line. All kits keep the same tail and carry the same load.
const (
	longRope, shortRope = 6000, 4500 // centimetres
	ropeTail            = 400        // centimetres
	fourParts           = 4
	threeParts          = 3
	ratedKG             = 200
)

// The kits that differ from the others, which have four parts of line and a long rope.
var (
	kit45     = map[g.KitID]bool{"K05": true, "K12": true, "K13": true, "K18": true, "K24": true}
	threePart = map[g.KitID]bool{"K21": true, "K28": true}
)

// spares stay in the store of a yard.
var spares = []struct {
	kit  g.KitID
	yard g.YardID
}{{"K29", quillmere}, {"K30", varrow}, {"K31", aldersett}}

func ropeOf(id g.KitID) int {
	if kit45[id] {
		return shortRope
	}
	return longRope
}

func partsOf(id g.KitID) int {
	if threePart[id] {
		return threeParts
	}
	return fourParts
}

// reachCM is how far down a kit brings somebody, in whole centimetres: the usable rope over the parts of line.
func reachCM(id g.KitID) int { return (ropeOf(id) - ropeTail) / partsOf(id) }

func deviceOf(id g.DeviceID) deviceRow {
	for _, d := range devices {
		if d.id == id {
			return d
		}
	}
	if id == hired.id {
		return hired
	}
	panic("no device " + id) // a mistake in the tables of this package
}
