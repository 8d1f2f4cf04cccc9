package exchange

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"groundhand/internal/groundhand"
)

// Order is a way of writing days that a person has stated for a column. None is ever found out from the days themselves: that many of
// them can only be read in one way says nothing about the others.
type Order struct {
	Name   string // as DD/MM/YYYY
	layout string
}

// Orders are the ways of writing days that may be stated. With YY, 69 to 99 are of the last century.
var Orders = orders()

func orders() []Order {
	var out []Order
	for _, mark := range []string{"/", ".", "-"} {
		for _, o := range []Order{{"DD/MM/YYYY", "2/1/2006"}, {"MM/DD/YYYY", "1/2/2006"}, {"DD/MM/YY", "2/1/06"}, {"MM/DD/YY", "1/2/06"}} {
			out = append(out, Order{strings.ReplaceAll(o.Name, "/", mark), strings.ReplaceAll(o.layout, "/", mark)})
		}
	}
	return out
}

func (o Order) read(text string) (groundhand.Date, error) {
	at, err := time.Parse(o.layout, text)
	if err != nil {
		return 0, err
	}
	return groundhand.DateOf(at), nil
}

// dayColumns are the columns that hold days.
var dayColumns = []string{"date", "from", "to"}

// A meaning is what a heading is taken for: a column, and how its days are written where that is stated.
type meaning struct {
	column string
	order  Order
}

// meaningOf reads a meaning such as "number", or "date DD/MM/YYYY".
func meaningOf(kind Kind, text string) (meaning, bool) {
	known := columnsByName(kind)
	if name := known[fold(text)]; name != "" {
		return meaning{column: name}, true
	}
	words := strings.Fields(text)
	if len(words) < 2 {
		return meaning{}, false
	}
	name := known[fold(strings.Join(words[:len(words)-1], " "))]
	i := slices.IndexFunc(Orders, func(o Order) bool { return strings.EqualFold(o.Name, words[len(words)-1]) })
	if i < 0 || !slices.Contains(dayColumns, name) {
		return meaning{}, false
	}
	return meaning{name, Orders[i]}, true
}

// CheckMeanings refuses a mapping that does not fit the headings: one meaning for each heading, empty where the column is left out, each
// a column of the kind and none twice. A day column may be followed by how its days are written, as "date DD/MM/YYYY".
func CheckMeanings(kind Kind, headings, meanings []string) error {
	var p groundhand.Problems
	if len(meanings) != len(headings) {
		p.Add(groundhand.CodeInvalid, "mapping", "The table has %d headings and the mapping speaks of %d.", len(headings), len(meanings))
		return p.Err()
	}
	at := map[string]int{}
	for i, text := range meanings {
		if text == "" {
			continue
		}
		m, ok := meaningOf(kind, text)
		field := fmt.Sprintf("mapping[%d]", i)
		if !ok {
			p.Add(groundhand.CodeInvalid, field, "%q is no column of %s. The columns are: %s.", shown(text), kind, strings.Join(names(kind), ", "))
			continue
		}
		if first, twice := at[m.column]; twice {
			p.Add(groundhand.CodeInvalid, field, "Column %s is taken for %s already.", letter(first), m.column)
		}
		at[m.column] = i
	}
	return p.Err()
}

// KindsOf gives the kinds of table that a mapping can be for: those that have all its meanings, none twice.
func KindsOf(meanings []string) []Kind {
	var out []Kind
	for _, k := range Kinds {
		if CheckMeanings(k, meanings, meanings) == nil {
			out = append(out, k)
		}
	}
	return out
}

// SameHeadings says whether two tables have the same headings in the same order, but for capitals and spaces around and between words.
func SameHeadings(a, b []string) bool {
	return slices.EqualFunc(a, b, func(x, y string) bool { return strings.EqualFold(plainText(x), plainText(y)) })
}

// mapHeading matches a heading row by a mapping that fits it.
func mapHeading(kind Kind, rec record, meanings []string) (*heading, []Refusal) {
	h := newHeading()
	var refused []Refusal
	for i, text := range meanings {
		m, _ := meaningOf(kind, text)
		if m.column == "" {
			h.out[i] = true
			continue
		}
		if why := rec.cells[i].fault; why != "" {
			refused = append(refused, Refusal{rec.row, m.column, letter(i), shown(rec.cells[i].text), groundhand.CodeInvalid, why})
		}
		h.at[m.column], h.names[i] = i, m.column
		if m.order != (Order{}) {
			h.orders[m.column] = m.order
		}
	}
	return h, append(refused, missing(kind, h, rec.row)...)
}
