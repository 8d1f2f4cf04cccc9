package rotation

import (
	"encoding/binary"
	"math"
	"slices"

	"groundhand/internal/linear"
)

// draft is a mixed-integer program in the making: variables with bounds, and rows over them. Rows that say the same are kept once.
type draft struct {
	lower, upper []float64
	nature       []nature
	cost         []float64
	site         []int // by variable: the slot that it belongs to, or none
	now          int   // the slot that new variables belong to, or none
	rows         []draftRow
	seen         map[string]bool
}

// nature says how a variable takes its values.
type nature uint8

const (
	broken  nature = iota // any value
	chosen                // whole, and to be branched on
	follows               // whole at the best as soon as the chosen ones are
)

// draftRow demands lower <= sum of terms <= upper.
type draftRow struct {
	lower, upper float64
	terms        sum
}

// sum is a linear expression without its constant.
type sum []linear.Term

func one(v int) sum { return sum{{Variable: v, Coefficient: 1}} }

func (s sum) times(k float64) sum {
	out := slices.Clone(s)
	for i := range out {
		out[i].Coefficient *= k
	}
	return out
}

// tidy sorts by variable and adds up.
func (s sum) tidy() sum {
	out := slices.Clone(s)
	slices.SortStableFunc(out, func(a, b linear.Term) int { return a.Variable - b.Variable })
	n := 0
	for i := 0; i < len(out); {
		t := out[i]
		for i++; i < len(out) && out[i].Variable == t.Variable; i++ {
			t.Coefficient += out[i].Coefficient
		}
		if t.Coefficient != 0 {
			out[n] = t
			n++
		}
	}
	return out[:n]
}

func newDraft() *draft { return &draft{seen: map[string]bool{}, now: none} }

// yesNo adds a variable that is 0 or 1.
func (d *draft) yesNo(n nature) int { return d.variable(0, 1, n) }

func (d *draft) variable(lower, upper float64, n nature) int {
	d.lower, d.upper, d.nature = append(d.lower, lower), append(d.upper, upper), append(d.nature, n)
	d.cost, d.site = append(d.cost, 0), append(d.site, d.now)
	return len(d.lower) - 1
}

func (d *draft) atLeast(least float64, parts ...sum) { d.row(least, math.Inf(1), parts...) }

func (d *draft) atMost(most float64, parts ...sum) { d.row(math.Inf(-1), most, parts...) }

// row adds a demand on a sum, unless it is there already or asks for nothing.
func (d *draft) row(lower, upper float64, parts ...sum) {
	terms := sum(slices.Concat(parts...)).tidy()
	least, most := 0.0, 0.0
	for _, t := range terms {
		a, b := t.Coefficient*d.lower[t.Variable], t.Coefficient*d.upper[t.Variable]
		least, most = least+min(a, b), most+max(a, b)
	}
	if least >= lower && most <= upper {
		return
	}
	key := terms.key(lower, upper)
	if !d.seen[key] {
		d.seen[key] = true
		d.rows = append(d.rows, draftRow{lower, upper, terms})
	}
}

func (s sum) key(numbers ...float64) string {
	key := make([]byte, 0, 12*len(s)+8*len(numbers))
	for _, t := range s {
		key = binary.LittleEndian.AppendUint32(key, uint32(t.Variable))
		key = binary.LittleEndian.AppendUint64(key, math.Float64bits(t.Coefficient))
	}
	for _, x := range numbers {
		key = binary.LittleEndian.AppendUint64(key, math.Float64bits(x))
	}
	return string(key)
}

// minimise makes a sum the cost.
func (d *draft) minimise(s sum) {
	clear(d.cost)
	for _, t := range s {
		d.cost[t.Variable] += t.Coefficient
	}
}

// step is the largest number of which the cost of every whole solution is a multiple; 0 when it may be anything.
func (d *draft) step() float64 {
	gcd := 0
	for v, c := range d.cost {
		if c == 0 {
			continue
		}
		if d.nature[v] == broken || c != math.Trunc(c) {
			return 0
		}
		for a := int(math.Abs(c)); a != 0; {
			gcd, a = a, gcd%a
		}
	}
	return float64(gcd)
}

// program writes the draft in the form that the solver takes.
func (d *draft) program() *linear.Program {
	p := &linear.Program{}
	for v := range d.lower {
		p.Variable(d.lower[v], d.upper[v], d.cost[v], d.nature[v] == chosen)
	}
	for _, r := range d.rows {
		p.Row(r.lower, r.upper, r.terms...)
	}
	return p
}
