package linear

import "math"

const (
	pivotShare = 0.1   // a pivot of the nucleus is at least this share of the largest entry left in its row
	pivotLeast = 1e-11 // below this an entry is no pivot
	dropBelow  = 1e-14 // entries smaller than this are taken for rounding errors
	etasMost   = 64    // changes of the basis between two factorings
)

// factor keeps a basis as a product of sparse triangular factors and, after changes, of one column each (product form). Rows and the places
// of basic variables are both counted by the step of elimination they were pivoted in, so that a right hand side turns into a solution where
// it stands and every pass goes through memory in order.
type factor struct {
	m     int
	order []int32   // pivot rows in the order of elimination
	step  []int32   // by row: its step
	pivot []float64 // by step
	// multipliers: by step the steps of the rows they changed, and the other way round
	low, lowBack sparse
	// the upper triangle without its diagonal: by row, and by place
	up, upBack sparse
	lowSteps   []int32 // the steps with multipliers
	eta        []etaColumn
	etaIndex   []int32
	etaValue   []float64
	entries    int // of the triangles
	built      int // times the factors were made

	nucleus nucleus
}

// etaColumn is one change of the basis: the place that changed, its pivot and where its other entries lie.
type etaColumn struct {
	place    int32
	from, to int32
	pivot    float64
}

// sparse is a list of entries for each row or place.
type sparse struct {
	start []int32
	index []int32
	value []float64
}

func (s *sparse) of(i int32) ([]int32, []float64) {
	a, b := s.start[i], s.start[i+1]
	return s.index[a:b], s.value[a:b]
}

// triple is an entry on its way into a sparse.
type triple struct {
	row, column int32
	value       float64
}

// pack sorts triples into lists by row (or, turned, by column).
func (s *sparse) pack(m int, list []triple, turned bool) {
	s.start = resize(s.start, m+1)
	clear(s.start)
	s.index, s.value = resize(s.index, len(list)), resize(s.value, len(list))
	for _, t := range list {
		r := t.row
		if turned {
			r = t.column
		}
		s.start[r+1]++
	}
	for i := range m {
		s.start[i+1] += s.start[i]
	}
	for k := len(list) - 1; k >= 0; k-- {
		t := list[k]
		if turned {
			t.row, t.column = t.column, t.row
		}
		s.start[t.row+1]--
		at := s.start[t.row+1]
		s.index[at], s.value[at] = t.column, t.value
	}
	// the ends were counted down to the starts of the rows, one place late
	copy(s.start, s.start[1:])
	s.start[m] = int32(len(list))
}

func resize[T any](a []T, n int) []T {
	if cap(a) < n {
		return make([]T, n, n+n/4+8)
	}
	return a[:n]
}

// nucleus is the working memory of a factoring.
type nucleus struct {
	rows, cols   sparse // the basis by rows and by columns
	rowCount     []int32
	colCount     []int32
	rowDone      []bool
	colDone      []bool
	columnRow    []int32 // the row each column is pivoted on
	queue        []int32
	all          []triple
	lower, upper []triple
	line         [][]entry
	pattern      [][]int32
	at           []int32
	left         []int32
}

type entry struct {
	index int32
	value float64
}

// build factors the basis whose j-th column is given by column(j). It returns the step each column is pivoted in; for a singular basis it
// returns the row each column is pivoted on, or none (-1) for columns that depend on others.
func (f *factor) build(m int, column func(j int) ([]int32, []float64)) (at []int32, singular bool) {
	f.m = m
	f.built++
	f.eta, f.etaIndex, f.etaValue = f.eta[:0], f.etaIndex[:0], f.etaValue[:0]
	f.order, f.pivot, f.step = f.order[:0], f.pivot[:0], resize(f.step, m)
	u := &f.nucleus
	u.all, u.lower, u.upper = u.all[:0], u.lower[:0], u.upper[:0]
	for j := range m {
		rows, values := column(j)
		for k, r := range rows {
			u.all = append(u.all, triple{r, int32(j), values[k]})
		}
	}
	u.rows.pack(m, u.all, false)
	u.cols.pack(m, u.all, true)
	u.rowCount, u.colCount = resize(u.rowCount, m), resize(u.colCount, m)
	u.rowDone, u.colDone = resize(u.rowDone, m), resize(u.colDone, m)
	u.columnRow = resize(u.columnRow, m)
	for i := range m {
		u.rowCount[i], u.colCount[i] = u.rows.start[i+1]-u.rows.start[i], u.cols.start[i+1]-u.cols.start[i]
		u.rowDone[i], u.colDone[i], u.columnRow[i] = false, false, -1
	}
	f.columnSingles()
	f.rowSingles()
	if len(f.order) < m {
		f.eliminate()
	}
	if len(f.order) < m {
		return u.columnRow, true
	}
	for k, r := range f.order {
		f.step[r] = int32(k)
	}
	for j, r := range u.columnRow {
		u.columnRow[j] = f.step[r]
	}
	for i, t := range u.upper {
		u.upper[i].row, u.upper[i].column = f.step[t.row], u.columnRow[t.column]
	}
	for i, t := range u.lower {
		u.lower[i].row, u.lower[i].column = f.step[t.row], f.step[t.column]
	}
	f.low.pack(m, u.lower, false)
	f.lowBack.pack(m, u.lower, true)
	f.up.pack(m, u.upper, false)
	f.upBack.pack(m, u.upper, true)
	f.entries = len(u.lower) + len(u.upper) + m
	f.lowSteps = f.lowSteps[:0]
	for k := range int32(m) {
		if f.low.start[k] < f.low.start[k+1] {
			f.lowSteps = append(f.lowSteps, k)
		}
	}
	return u.columnRow, false
}

// take makes an entry the next pivot.
func (f *factor) take(row, col int32, value float64) {
	f.order = append(f.order, row)
	f.pivot = append(f.pivot, value)
	f.nucleus.rowDone[row], f.nucleus.colDone[col], f.nucleus.columnRow[col] = true, true, row
}

// columnSingles pivots on columns with one entry left: nothing has to be eliminated, the rest of the row goes into the upper triangle.
func (f *factor) columnSingles() {
	u := &f.nucleus
	u.queue = u.queue[:0]
	for j := range int32(f.m) {
		if u.colCount[j] == 1 {
			u.queue = append(u.queue, j)
		}
	}
	for k := 0; k < len(u.queue); k++ {
		j := u.queue[k]
		if u.colDone[j] || u.colCount[j] != 1 {
			continue
		}
		rows, values := u.cols.of(j)
		for e, r := range rows {
			if u.rowDone[r] || math.Abs(values[e]) < pivotLeast {
				continue
			}
			f.take(r, j, values[e])
			cols, entries := u.rows.of(r)
			for o, c := range cols {
				if u.colDone[c] {
					continue
				}
				u.upper = append(u.upper, triple{r, c, entries[o]})
				if u.colCount[c]--; u.colCount[c] == 1 {
					u.queue = append(u.queue, c)
				}
			}
			break
		}
	}
}

// rowSingles pivots on rows with one entry left: the rest of the column turns into multipliers and nothing else changes.
func (f *factor) rowSingles() {
	u := &f.nucleus
	u.queue = u.queue[:0]
	for i := range int32(f.m) {
		u.rowCount[i] = 0
		if u.rowDone[i] {
			continue
		}
		cols, _ := u.rows.of(i)
		for _, c := range cols {
			if !u.colDone[c] {
				u.rowCount[i]++
			}
		}
		if u.rowCount[i] == 1 {
			u.queue = append(u.queue, i)
		}
	}
	for k := 0; k < len(u.queue); k++ {
		i := u.queue[k]
		if u.rowDone[i] || u.rowCount[i] != 1 {
			continue
		}
		cols, values := u.rows.of(i)
		for e, c := range cols {
			if u.colDone[c] || math.Abs(values[e]) < pivotLeast {
				continue
			}
			f.take(i, c, values[e])
			rows, entries := u.cols.of(c)
			for o, r := range rows {
				if u.rowDone[r] {
					continue
				}
				u.lower = append(u.lower, triple{i, r, entries[o] / values[e]})
				if u.rowCount[r]--; u.rowCount[r] == 1 {
					u.queue = append(u.queue, r)
				}
			}
			break
		}
	}
}

// eliminate factors what is left by rows, taking pivots in short rows and short columns (Markowitz) that are not small in their row.
func (f *factor) eliminate() {
	u := &f.nucleus
	u.line, u.pattern, u.at = resize(u.line, f.m), resize(u.pattern, f.m), resize(u.at, f.m)
	u.left = u.left[:0]
	for j := range f.m {
		u.pattern[j] = u.pattern[j][:0]
		u.at[j] = -1
	}
	for i := range int32(f.m) {
		u.line[i] = u.line[i][:0]
		if u.rowDone[i] {
			continue
		}
		u.left = append(u.left, i)
		cols, values := u.rows.of(i)
		for e, c := range cols {
			if !u.colDone[c] {
				u.line[i] = append(u.line[i], entry{c, values[e]})
				u.pattern[c] = append(u.pattern[c], i)
			}
		}
	}
	for len(u.left) > 0 {
		k, e := u.choose()
		if k < 0 {
			return
		}
		i := u.left[k]
		u.left[k] = u.left[len(u.left)-1]
		u.left = u.left[:len(u.left)-1]
		f.pivotOn(i, e)
	}
}

// choose finds the next pivot: its number in left and its place in its row.
func (u *nucleus) choose() (int, int) {
	const looks = 4
	bestRow, bestEntry, bestCost := -1, -1, int64(math.MaxInt64)
	for size, seen := 1, 0; seen < looks; {
		next := math.MaxInt
		for k, i := range u.left {
			n := len(u.line[i])
			if n > size && n < next {
				next = n
			}
			if n != size || seen >= looks {
				continue
			}
			e, cost := u.best(i)
			if e < 0 {
				continue
			}
			seen++
			if cost < bestCost {
				bestRow, bestEntry, bestCost = k, e, cost
			}
		}
		if next == math.MaxInt || bestCost <= int64(next-1)*int64(next-1) {
			break
		}
		size = next
	}
	return bestRow, bestEntry
}

// best finds the entry of a row in the shortest column among those large enough.
func (u *nucleus) best(i int32) (int, int64) {
	largest := 0.0
	for _, e := range u.line[i] {
		largest = max(largest, math.Abs(e.value))
	}
	if largest < pivotLeast {
		return -1, 0
	}
	at, cost, size := -1, int64(math.MaxInt64), 0.0
	for k, e := range u.line[i] {
		a := math.Abs(e.value)
		if a < pivotShare*largest {
			continue
		}
		c := int64(len(u.line[i])-1) * int64(len(u.pattern[e.index])-1)
		if c < cost || c == cost && a > size {
			at, cost, size = k, c, a
		}
	}
	return at, cost
}

func (f *factor) pivotOn(i int32, e int) {
	u := &f.nucleus
	line := u.line[i]
	p := line[e]
	line[e] = line[len(line)-1]
	line = line[:len(line)-1]
	f.take(i, p.index, p.value)
	for _, o := range line {
		u.upper = append(u.upper, triple{i, o.index, o.value})
		u.forget(o.index, i)
	}
	for _, r := range u.pattern[p.index] {
		if r == i {
			continue
		}
		row := u.line[r]
		var mult float64
		for k, o := range row {
			if o.index == p.index {
				mult = o.value / p.value
				row[k] = row[len(row)-1]
				row = row[:len(row)-1]
				break
			}
		}
		u.line[r] = row
		u.lower = append(u.lower, triple{i, r, mult})
		u.subtract(r, line, mult)
	}
	u.pattern[p.index] = u.pattern[p.index][:0]
	u.line[i] = line[:0]
}

// subtract takes a multiple of the pivot row from a row.
func (u *nucleus) subtract(r int32, line []entry, mult float64) {
	row := u.line[r]
	for k, o := range row {
		u.at[o.index] = int32(k)
	}
	for _, o := range line {
		if k := u.at[o.index]; k >= 0 {
			row[k].value -= mult * o.value
			continue
		}
		u.at[o.index] = int32(len(row))
		row = append(row, entry{o.index, -mult * o.value})
		u.pattern[o.index] = append(u.pattern[o.index], r)
	}
	for _, o := range row {
		u.at[o.index] = -1
	}
	n := 0
	for _, o := range row {
		if math.Abs(o.value) < dropBelow {
			u.forget(o.index, r)
			continue
		}
		row[n] = o
		n++
	}
	u.line[r] = row[:n]
}

// forget takes a row out of the pattern of a column.
func (u *nucleus) forget(col, row int32) {
	p := u.pattern[col]
	for k, r := range p {
		if r == row {
			p[k] = p[len(p)-1]
			u.pattern[col] = p[:len(p)-1]
			return
		}
	}
}

// forward solves basis * x = b: b by the steps of rows comes in, x by places goes out, in the same memory.
func (f *factor) forward(x []float64) {
	for _, r := range f.lowSteps {
		t := x[r]
		if t == 0 {
			continue
		}
		a, b := f.low.start[r], f.low.start[r+1]
		index, value := f.low.index[a:b], f.low.value[a:b]
		for k, i := range index {
			x[i] -= value[k] * t
		}
	}
	for r := len(x) - 1; r >= 0; r-- {
		t := x[r]
		if t == 0 {
			continue
		}
		if math.Abs(t) < dropBelow {
			x[r] = 0
			continue
		}
		t /= f.pivot[r]
		x[r] = t
		a, b := f.upBack.start[r], f.upBack.start[r+1]
		index, value := f.upBack.index[a:b], f.upBack.value[a:b]
		for e, i := range index {
			x[i] -= value[e] * t
		}
	}
	for _, e := range f.eta {
		t := x[e.place]
		if t == 0 {
			continue
		}
		t /= e.pivot
		x[e.place] = t
		index, value := f.etaIndex[e.from:e.to], f.etaValue[e.from:e.to]
		for k, i := range index {
			x[i] -= value[k] * t
		}
	}
}

// backward solves y * basis = c: c by places comes in, y by the steps of rows goes out, in the same memory.
func (f *factor) backward(y []float64) {
	for n := len(f.eta) - 1; n >= 0; n-- {
		e := f.eta[n]
		t := y[e.place]
		index, value := f.etaIndex[e.from:e.to], f.etaValue[e.from:e.to]
		for k, i := range index {
			t -= value[k] * y[i]
		}
		y[e.place] = t / e.pivot
	}
	for r, t := range y {
		if t == 0 {
			continue
		}
		if math.Abs(t) < dropBelow {
			y[r] = 0
			continue
		}
		t /= f.pivot[r]
		y[r] = t
		a, b := f.up.start[r], f.up.start[r+1]
		index, value := f.up.index[a:b], f.up.value[a:b]
		for e, i := range index {
			y[i] -= value[e] * t
		}
	}
	if len(f.lowSteps) == 0 {
		return
	}
	for r := len(y) - 1; r >= 0; r-- {
		t := y[r]
		if t == 0 {
			continue
		}
		a, b := f.lowBack.start[r], f.lowBack.start[r+1]
		index, value := f.lowBack.index[a:b], f.lowBack.value[a:b]
		for e, i := range index {
			y[i] -= value[e] * t
		}
	}
}

// exchange writes down that the column, given as basis^-1 * column by places, takes a place; at are the places where it is not zero.
func (f *factor) exchange(place int32, column []float64, at []int32) {
	from := int32(len(f.etaIndex))
	for _, i := range at {
		v := column[i]
		if i == place || v > -dropBelow && v < dropBelow {
			continue
		}
		f.etaIndex = append(f.etaIndex, i)
		f.etaValue = append(f.etaValue, v)
	}
	f.eta = append(f.eta, etaColumn{place, from, int32(len(f.etaIndex)), column[place]})
}
