package readiness

import (
	"slices"

	"groundhand/internal/groundhand"
)

// HoldsThrough is the last day on which at least need of these people are still good, given the last good day of each: the need-th
// latest. It is false when there are fewer than need people, and no day is given then. Nobody needed is no question: it is false too.
func HoldsThrough(lastGoodDays []groundhand.Date, need int) (groundhand.Date, bool) {
	if need < 1 || need > len(lastGoodDays) {
		return 0, false
	}
	days := slices.Sorted(slices.Values(lastGoodDays))
	return days[len(days)-need], true
}
