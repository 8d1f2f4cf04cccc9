package groundhand

import (
	"errors"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestProblemsAreToldAllAtOnce(t *testing.T) {
	var p Problems
	assert.NoError(t, p.Err())
	p.Add(CodeInvalid, "name", "Give a name.")
	assert.NoError(t, p.Take("runs[2]", Errors{{CodeNotFound, "parts[0].workerId", "There is no such worker."}, {CodeInvalid, "", "This run is empty."}}))
	err := fmt.Errorf("entered by a desk: %w", p.Err())
	assert.ErrorIs(t, err, CodeInvalid)
	assert.ErrorIs(t, err, CodeNotFound)
	assert.NotErrorIs(t, err, CodeConflict)
	var fields []string
	for _, e := range Refusals(err) {
		fields = append(fields, e.Field)
	}
	assert.Equal(t, []string{"name", "runs[2].parts[0].workerId", "runs[2]"}, fields)
}

func TestTakeGivesBackWhatIsNoRefusal(t *testing.T) {
	var p Problems
	broken := errors.New("the disk is full")
	assert.Equal(t, broken, p.Take("form", broken))
	assert.False(t, p.Any())
	assert.NoError(t, p.Take("form", nil))
	assert.Empty(t, Refusals(broken))
}

func TestMomentsAreReadAndWrittenInFull(t *testing.T) {
	var i Instant
	assert.NoError(t, i.UnmarshalText([]byte("2025-06-12T06:00:00+01:00")))
	assert.Equal(t, "2025-06-12T05:00:00Z", i.String())
	assert.Equal(t, i, InstantOf(i.Time()))
	assert.NoError(t, i.UnmarshalText([]byte("2025-06-12T05:00:00.999Z")))
	assert.Equal(t, "2025-06-12T05:00:00Z", i.String(), "as browsers write it; the fraction is cut")
	for _, wrong := range []string{"2025-06-12", "2025-06-12 06:00", "06:00", "2025-06-31T06:00:00Z"} {
		assert.ErrorIs(t, i.UnmarshalText([]byte(wrong)), CodeInvalid, wrong)
	}
	assert.NoError(t, i.UnmarshalText(nil))
	assert.True(t, i.IsZero())
	assert.Empty(t, i.String(), "no moment is no text, not 1970")
}
