package runsheet

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// At prices of 0 the best choice of runs, found one after the other, is to spread them evenly.
func TestWithoutPricesEverybodySpreadsEvenly(t *testing.T) {
	p := Problem{MaxRuns: 20, People: []Person{{ID: "A", Needs: Needs{Lead: 5, Lone: 1}}, {ID: "B"}, {ID: "C", Needs: Needs{Second: 2}}, {ID: "D", Needs: Needs{Lone: 3}}}}
	d := newDrill(p)
	w := &waits{d: d, runs: d.runs(), extras: []int{0, 4, 9, 1}, prices: make([]int, d.runs())}
	w.reckonFree()
	free, places := w.rest, w.places
	w.reckon()
	assert.Equal(t, w.rest, free)
	assert.Equal(t, w.places, places)
}

// Five people who each need fifty runs as lead and fifty alone leave 250 places for anybody. Whoever has no time still gets a sheet.
func TestTheLongestSheetIsMadeWithoutTime(t *testing.T) {
	p := Problem{Name: "long", MaxRuns: mostRuns}
	for _, id := range []string{"A", "B", "C", "D", "E"} {
		p.People = append(p.People, Person{ID: id, Needs: Needs{Lead: mostNeeded, Lone: mostNeeded}})
	}
	ended, end := context.WithCancel(t.Context())
	end()
	s, err := Plan(ended, p, Options{})
	require.NoError(t, err)
	assert.Empty(t, Check(p, s))
}
