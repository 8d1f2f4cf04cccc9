package runsheet

import "math"

// forbidden is the cost of what may not be; a whole pairing of allowed ones always costs less than one of it.
const forbidden = math.MaxInt64 / 1024

// assign finds the cheapest way to give each row a column of its own in a square table, by the Hungarian method in the form with shortest
// augmenting paths. The potentials satisfy rows[i]+columns[j] <= cost[i][j], with equality for the pairs chosen, so their sum is the value
// of the answer and a bound for every other.
func assign(cost [][]int) (columnOf, rows, columns []int) {
	n := len(cost)
	columnOf, rows, columns = make([]int, n), make([]int, n), make([]int, n+1)
	rowOf := make([]int, n+1) // of each column; column n stands for the row that is being placed
	for j := range rowOf {
		rowOf[j] = -1
	}
	for i := range n {
		rowOf[n] = i
		augment(cost, rowOf, rows, columns)
	}
	for j, i := range rowOf[:n] {
		columnOf[i] = j
	}
	return columnOf, rows, columns[:n]
}

// augment places the row at column n along a shortest path of reduced costs.
func augment(cost [][]int, rowOf, rows, columns []int) {
	n := len(cost)
	least, from, done := make([]int, n), make([]int, n), make([]bool, n+1)
	for j := range least {
		least[j], from[j] = math.MaxInt, n
	}
	at := n
	for rowOf[at] != -1 {
		done[at] = true
		row, next, step := rowOf[at], -1, math.MaxInt
		for j := range n {
			if done[j] {
				continue
			}
			if reduced := cost[row][j] - rows[row] - columns[j]; reduced < least[j] {
				least[j], from[j] = reduced, at
			}
			if least[j] < step {
				next, step = j, least[j]
			}
		}
		for j := range done {
			if done[j] {
				rows[rowOf[j]] += step
				columns[j] -= step
			} else if j < n {
				least[j] -= step
			}
		}
		at = next
	}
	for at != n {
		rowOf[at] = rowOf[from[at]]
		at = from[at]
	}
}
