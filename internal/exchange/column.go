package exchange

import (
	"fmt"
	"strings"

	"github.com/xuri/excelize/v2"

	"groundhand/internal/groundhand"
)

// Column is one heading that a kind of table may have.
type Column struct {
	Name   string
	Needed bool   // the heading must be there and no cell under it may be empty
	Holds  string // what stands in it, for people
}

// Columns lists the headings of a kind. Their order in a file is free; capitals, spaces, hyphens and underscores make no difference.
func Columns(kind Kind) []Column { return columns[kind] }

const dayHolds = "a day like 2024-04-03, or a date cell"

// columns is the one table of headings.
var columns = map[Kind][]Column{
	People: {
		{"number", true, "staff number, kept as text with its leading zeros"},
		{"name", true, "name as it is to be shown"},
		{"employer", true, "employer"},
		{"relation", true, "employee, resident contractor or visitor"},
		{"grade", true, "qualified, apprentice, ground or office"},
		{"year", false, "year of an apprentice, 1 to 6"},
		{"yard", true, "home yard"},
		{"from", true, dayHolds + ": from when all this holds"},
	},
	Crews: {
		{"crew", true, "crew"},
		{"yard", false, "yard of the crew; needed for a new crew"},
		{"kind", false, "line, fault, substation or relief; needed for a new crew"},
		{"normal size", false, "people it goes out with; needed for a new crew"},
		{"number", true, "staff number of the person"},
		{"name", false, "name of the person, compared with what is recorded"},
		{"part", true, "foreman or member"},
		{"reason", true, "permanent, loan, split or storm"},
		{"from", true, dayHolds + ": first day"},
		{"to", false, dayHolds + ": last day; empty until further notice"},
	},
	Drills: append([]Column{
		{"date", true, dayHolds},
		{"number", true, "staff number of the person"},
		{"name", false, "name of the person, compared with what is recorded"},
		{"method", true, "method, as pair kit, lone kit, manual lowering"},
		{"role", true, "lead, second, lone, caller, casualty, observer or timekeeper"},
		{"family", false, "control family of the device"},
		{"device", false, "unit name of the device"},
		{"session", false, "booked session in which it was held"},
		{"run", false, "reference of the run: rows with the same date and reference are one run"},
		{"complete", true, "yes if carried through to the end of the method, else no"},
		{"watched by", false, "staff number of who watched"},
	}, stageColumns()...),
	Assessments: {
		{"date", true, dayHolds},
		{"number", true, "staff number of the person"},
		{"name", false, "name of the person, compared with what is recorded"},
		{"method", true, "method, as pair kit, lone kit, manual lowering"},
		{"role", true, "lead, second or lone"},
		{"family", false, "control family of the device"},
		{"result", true, "pass, fail or not completed"},
		{"assessor", true, "staff number of the assessor"},
		{"failed step", false, "the critical step that was failed"},
	},
}

func stageColumns() []Column {
	var out []Column
	for s := groundhand.S0; s <= groundhand.S10; s++ {
		out = append(out, Column{stageColumn(s), false, "whole seconds after the alarm at that stage mark"})
	}
	return out
}

func stageColumn(s groundhand.Stage) string { return fmt.Sprintf("s%d", s) }

// A heading is the heading row of a file, matched with the table.
type heading struct {
	at     map[string]int   // column name -> place
	names  map[int]string   // place -> column name
	out    map[int]bool     // places that a mapping leaves out
	orders map[string]Order // column name -> how its days are written, where a mapping says so
}

func newHeading() *heading {
	return &heading{map[string]int{}, map[int]string{}, map[int]bool{}, map[string]Order{}}
}

func (h *heading) index(column string) (int, bool) {
	if h == nil {
		return 0, false
	}
	i, ok := h.at[column]
	return i, ok
}

// readHeading matches a heading row with the columns of a kind and refuses what is unknown, doubled or missing.
func readHeading(kind Kind, rec record) (*heading, []Refusal) {
	h := newHeading()
	var refused []Refusal
	known := columnsByName(kind)
	for i, c := range rec.cells {
		if c.text == "" && c.fault == "" {
			continue
		}
		name := known[fold(c.text)]
		if why := h.cannotStand(kind, c, name); why != "" {
			refused = append(refused, Refusal{rec.row, shown(c.text), letter(i), shown(c.text), groundhand.CodeInvalid, why})
			continue
		}
		h.at[name], h.names[i] = i, name
	}
	return h, append(refused, missing(kind, h, rec.row)...)
}

func (h *heading) cannotStand(kind Kind, c cell, name string) string {
	switch {
	case c.fault != "":
		return c.fault
	case name == "":
		return fmt.Sprintf("A table of %s has no column %q. Its columns are: %s.", kind, shown(c.text), strings.Join(names(kind), ", "))
	}
	if i, twice := h.at[name]; twice {
		return fmt.Sprintf("The column %q stands twice, here and at %s. Keep one.", name, letter(i))
	}
	return ""
}

func missing(kind Kind, h *heading, row int) []Refusal {
	var out []Refusal
	for _, c := range columns[kind] {
		if _, ok := h.at[c.Name]; c.Needed && !ok {
			out = append(out, Refusal{Row: row, Column: c.Name, Code: groundhand.CodeInvalid,
				Message: fmt.Sprintf("The column %q is missing. It holds %s.", c.Name, c.Holds)})
		}
	}
	return out
}

func columnsByName(kind Kind) map[string]string {
	out := map[string]string{}
	for _, c := range columns[kind] {
		out[fold(c.Name)] = c.Name
	}
	return out
}

func names(kind Kind) []string {
	var out []string
	for _, c := range columns[kind] {
		out = append(out, c.Name)
	}
	return out
}

// fold makes words that differ only in capitals, spaces, hyphens and underscores equal: it is the form of the vocabulary's words.
func fold(s string) string {
	apart := func(r rune) bool { return r == ' ' || r == '-' || r == '_' || r == '\u00a0' || r == '\t' }
	return strings.ToUpper(strings.Join(strings.FieldsFunc(s, apart), "_"))
}

// letter names a column as spreadsheets do; i counts from 0.
func letter(i int) string {
	name, err := excelize.ColumnNumberToName(i + 1)
	if err != nil {
		return ""
	}
	return name
}
