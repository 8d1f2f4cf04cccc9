package demo

import (
	"testing"

	"github.com/stretchr/testify/assert"

	g "groundhand/internal/groundhand"
)

// TestTheTablesHoldTheWholeCompany compares with the numbers of the invented company as its story gives them.
func TestTheTablesHoldTheWholeCompany(t *testing.T) {
	perYard, perFamily, ropes := map[g.YardID]int{}, map[g.FamilyID]int{}, map[[2]int]int{}
	for _, d := range devices {
		perYard[d.yard]++
		perFamily[d.family]++
	}
	assert.Equal(t, map[g.YardID]int{varrow: 9, stenholt: 6, quillmere: 6, hollow: 2, aldersett: 5}, perYard)
	assert.Equal(t, map[g.FamilyID]int{"F1": 9, "F2": 5, "F3": 7, "F4": 5, "F5": 2}, perFamily)
	kits := map[g.KitID]bool{}
	for _, y := range yards {
		for _, kit := range kitsOf(y.id) {
			kits[kit] = true
			ropes[[2]int{partsOf(kit), ropeOf(kit)}]++
		}
	}
	assert.Len(t, kits, 31, "one on each device and three spares")
	assert.Equal(t, map[[2]int]int{{4, 6000}: 24, {4, 4500}: 5, {3, 6000}: 2}, ropes)
	assert.Len(t, roads, 10, "a road between any two yards")

	own, contractors, visitors, apprentices := 0, 0, 0, 0
	sentOut := map[g.YardID]int{}
	for _, c := range append(crews, visiting...) {
		for _, p := range c.people {
			if p.year > 0 {
				apprentices++
			}
		}
		switch {
		case c.id[0] == 'M':
			visitors += len(c.people)
			continue
		case c.contractor():
			contractors += len(c.people)
		default:
			own += len(c.people)
		}
		if c.kind != g.ReliefPool {
			sentOut[c.yard]++
		}
	}
	assert.Equal(t, []int{58, 14, 18, 9}, []int{own, contractors, visitors, apprentices})
	assert.Equal(t, map[g.YardID]int{varrow: 6, stenholt: 3, quillmere: 3, hollow: 1, aldersett: 3}, sentOut)
	assert.Len(t, visiting, 4)
	assert.Len(t, namedWorkers(), 90+len(desk)+len(moreDesk), "nobody has the name of another")
}

// Reach is arithmetic: a rope of which four metres are kept as tail, over the parts of line.
func TestHowFarDownAKitReaches(t *testing.T) {
	for kit, want := range map[g.KitID]int{"K01": 1400, "K05": 1025, "K13": 1025, "K21": 1866, "K28": 1866, "K31": 1400} {
		assert.Equal(t, want, reachCM(kit), kit)
	}
	for _, d := range devices {
		short := d.anchor > 0 && reachCM(d.kit) < d.anchor
		assert.Equal(t, d.id == "T18", short, "only on T18 the anchor is higher than the kit reaches: %s", d.id)
		if d.family == "F2" {
			assert.LessOrEqual(t, d.anchor, 1000, d.id)
		}
		if d.family == "F5" {
			assert.Zero(t, d.anchor, "no good anchor on a tracked machine: %s", d.id)
		}
	}
}

func TestTheStormHas62Jobs(t *testing.T) {
	ids := map[g.JobID]bool{}
	for _, w := range stormWork {
		for day := w.first; day <= w.last; day++ {
			ids[w.on(day).id] = true
		}
	}
	assert.Len(t, ids, 62)
	for id := range notSent {
		assert.True(t, ids[id], id)
	}
}
