package rotation

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestPinsOfASoundPlanCanBeKept(t *testing.T) {
	for seed := range uint64(12) {
		p := company(seed, 24, 16)
		plan, err := Suggest(context.Background(), p, Options{Seed: seed, Rounds: 40})
		require.NoError(t, err)
		rng := rand.New(rand.NewPCG(seed, 0))
		for range 6 {
			s := plan.Sessions[rng.IntN(len(plan.Sessions))]
			a := s.Attend[rng.IntN(len(s.Attend))]
			p.Pinned = append(p.Pinned, Pin{s.Slot, a.Worker, a.Renews})
		}
		again, err := Suggest(context.Background(), p, Options{Seed: seed + 1, Rounds: 40})
		require.NoError(t, err, "seed %d", seed)
		require.Empty(t, Check(p, again))
	}
}
