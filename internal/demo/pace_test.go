package demo

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	g "groundhand/internal/groundhand"
)

// TestRunsTakeAsLongAsTheModelSays compares with a simulation of 20,000 runs of the same invented model by another program, which is what
// the story of the company was written from. Seconds at S7, ten, fifty and ninety in a hundred; the median at S8.
func TestRunsTakeAsLongAsTheModelSays(t *testing.T) {
	for _, c := range []struct {
		name   string
		method g.Method
		now    circumstances
		s7     [3]int
		s8     int
	}{
		{"two on the ground", g.PairKit, circumstances{}, [3]int{74, 93, 118}, 104},
		{"two, unannounced in the dark", g.PairKit, circumstances{unannounced: true, dark: true}, [3]int{93, 118, 149}, 131},
		{"two, kit laid out", g.PairKit, circumstances{laidOut: true}, [3]int{63, 79, 101}, 88},
		{"alone", g.LoneKit, circumstances{}, [3]int{94, 118, 149}, 130},
		{"alone, unannounced in the dark", g.LoneKit, circumstances{unannounced: true, dark: true}, [3]int{119, 149, 189}, 164},
		{"by hand", g.ManualLowering, circumstances{}, [3]int{212, 278, 369}, 293},
	} {
		t.Run(c.name, func(t *testing.T) {
			chance := rand.New(rand.NewPCG(1, 2))
			var s7, s8 []int
			for range 20000 {
				marks := pace(chance, c.method, c.now, lognormal(chance, personSpread)*lognormal(chance, sessionSpread))
				require.NoError(t, marks.Check("marks"))
				at7, _ := marks.At(g.S7)
				at8, _ := marks.At(g.S8)
				s7, s8 = append(s7, at7), append(s8, at8)
			}
			slices.Sort(s7)
			slices.Sort(s8)
			for i, share := range []int{2000, 10000, 18000} {
				assert.InEpsilon(t, c.s7[i], s7[share], 0.025)
			}
			assert.InEpsilon(t, c.s8, s8[10000], 0.025)
		})
	}
}

func TestTheClockFollowsAnother(t *testing.T) {
	lead := NewClock(at(time.UTC, "2030-01-01 12:00"))
	c := NewClock(at(time.UTC, evening))
	before := c.Now()
	c.Follow(lead.Now)
	assert.Equal(t, before, c.Now())
	lead.turnTo(lead.Now().AddDate(0, 0, 1))
	assert.Equal(t, before.AddDate(0, 0, 1), c.Now())
}

func TestIDsCountAndTakeANameOnce(t *testing.T) {
	var ids IDs
	first := ids.New()
	ids.call("J-0612-04")
	assert.Equal(t, []string{"E000001", "J-0612-04", "E000002"}, []string{first, ids.New(), ids.New()})
}
