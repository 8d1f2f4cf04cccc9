package readiness_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// Worked by hand: of three last days, two people are good through the second latest.
func TestHoldsThroughTheSecondLatestDayWhenTwoAreNeeded(t *testing.T) {
	days := []groundhand.Date{groundhand.MustDate("2025-09-30"), groundhand.MustDate("2025-05-10"), groundhand.MustDate("2025-06-01")}
	for _, c := range []struct {
		need int
		want string
		ok   bool
	}{{1, "2025-09-30", true}, {2, "2025-06-01", true}, {3, "2025-05-10", true}, {4, "", false}, {0, "", false}} {
		got, ok := readiness.HoldsThrough(days, c.need)
		assert.Equal(t, c.want, got.String(), c.need)
		assert.Equal(t, c.ok, ok, c.need)
	}
}
