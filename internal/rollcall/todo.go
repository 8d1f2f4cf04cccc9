package rollcall

import (
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// Swap is something to do on the way: at a moment somebody aloft has to come down and others may go up.
type Swap struct {
	At       groundhand.Instant
	ComeDown []string // may be aloft before the moment and not after
	MayGoUp  []string // the other way round
}

// Swaps lists the changes of who is aloft that a conditional answer asks for. Nothing is wrong with such a crew: it is something to do.
// Empty when the answer does not hang on a swap.
func (a CoverAnswer) Swaps() []Swap {
	if !slices.ContainsFunc(a.Answer.Conditions, func(c readiness.Condition) bool { return c.Code == readiness.SwapAloft }) {
		return nil
	}
	var out []Swap
	for i, s := range a.Answer.Timeline {
		if i == 0 {
			continue
		}
		before := a.Answer.Timeline[i-1]
		swap := Swap{At: s.From.At, ComeDown: without(before.MayGoAloft, s.MayGoAloft), MayGoUp: without(s.MayGoAloft, before.MayGoAloft)}
		if len(swap.ComeDown) > 0 {
			out = append(out, swap)
		}
	}
	return out
}

// OnlySwaps says that a conditional answer asks for nothing but a change of who is aloft: at every moment the crew is ready.
func (a CoverAnswer) OnlySwaps() bool {
	return len(a.Swaps()) > 0 && !slices.ContainsFunc(a.Answer.Timeline, func(s readiness.Stretch) bool { return s.Verdict != readiness.Ready })
}

func without(list, others []string) []string {
	out := []string{}
	for _, v := range list {
		if !slices.Contains(others, v) {
			out = append(out, v)
		}
	}
	return out
}

// LooksAgain lists the looks of the day that a fix asks to be made again, because it moves the departure to another day: one check stands
// for one departure.
func (a CoverAnswer) LooksAgain(f readiness.Fix) []Look {
	if a.Question.Pool == nil {
		return nil
	}
	for _, c := range f.Changes {
		for _, w := range a.Question.Pool.LaterWindows {
			if c.Do == readiness.DoLater && c.ID == w.ID && a.seen.roll.dayOf(w.From) != a.seen.roll.dayOf(a.Question.Window.From) {
				return []Look{LookControls, LookKit}
			}
		}
	}
	return nil
}
