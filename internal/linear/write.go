package linear

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
)

// WriteLP writes the program in the LP format that general-purpose solvers read: variables are x0, x1 and so on, rows r0, r1 and so on.
func (p *Program) WriteLP(w io.Writer) error {
	if p.problem != nil {
		return p.problem
	}
	b := bufio.NewWriter(w)
	fmt.Fprintln(b, "Minimize")
	fmt.Fprint(b, " cost:")
	for j, c := range p.cost {
		writeTerm(b, j, c)
	}
	fmt.Fprintln(b, "\nSubject To")
	for i, row := range p.rows {
		p.writeRow(b, i, row)
	}
	fmt.Fprintln(b, "Bounds")
	for j := range p.cost {
		fmt.Fprintf(b, " %s <= x%d <= %s\n", number(p.lower[j]), j, number(p.upper[j]))
	}
	fmt.Fprintln(b, "Generals")
	for j, whole := range p.whole {
		if whole {
			fmt.Fprintf(b, " x%d\n", j)
		}
	}
	fmt.Fprintln(b, "End")
	return b.Flush()
}

// writeRow writes a row with two bounds as two rows, and leaves out those without any.
func (p *Program) writeRow(b *bufio.Writer, i int, row []Term) {
	l, u := p.rowLower[i], p.rowUpper[i]
	write := func(name, relation string, bound float64) {
		fmt.Fprintf(b, " %s:", name)
		for _, t := range row {
			writeTerm(b, t.Variable, t.Coefficient)
		}
		if len(row) == 0 {
			fmt.Fprint(b, " 0 x0")
		}
		fmt.Fprintf(b, " %s %s\n", relation, number(bound))
	}
	switch {
	case l == u:
		write(fmt.Sprintf("r%d", i), "=", l)
		return
	case !math.IsInf(l, 0):
		write(fmt.Sprintf("r%d", i), ">=", l)
	}
	if !math.IsInf(u, 0) {
		write(fmt.Sprintf("r%du", i), "<=", u)
	}
}

func writeTerm(b *bufio.Writer, variable int, coefficient float64) {
	sign := "+"
	if coefficient < 0 {
		sign, coefficient = "-", -coefficient
	}
	fmt.Fprintf(b, " %s %s x%d", sign, number(coefficient), variable)
}

func number(v float64) string {
	switch {
	case math.IsInf(v, 1):
		return "+inf"
	case math.IsInf(v, -1):
		return "-inf"
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}
