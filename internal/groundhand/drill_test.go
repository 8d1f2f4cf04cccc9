package groundhand

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestStageMarksNeverDecrease(t *testing.T) {
	for name, c := range map[string]struct {
		marks StageMarks
		want  []string // fields refused
	}{
		"none":                     {nil, nil},
		"all, two at one moment":   {StageMarks{{S0, 0}, {S1, 8}, {S2, 8}, {S7, 90}, {S8, 100}}, nil},
		"a stage missing is fine":  {StageMarks{{S0, 0}, {S7, 90}}, nil},
		"down before attached":     {StageMarks{{S0, 0}, {S5, 60}, {S7, 59}}, []string{"marks[2].seconds"}},
		"a stage twice":            {StageMarks{{S0, 0}, {S3, 20}, {S3, 21}}, []string{"marks[2].stage"}},
		"out of order":             {StageMarks{{S4, 50}, {S3, 60}}, []string{"marks[1].stage"}},
		"no such stage":            {StageMarks{{Stage(11), 5}, {Stage(-1), 5}}, []string{"marks[0].stage", "marks[1].stage"}},
		"negative, and a day long": {StageMarks{{S0, -1}, {S1, 86400}}, []string{"marks[0].seconds", "marks[1].seconds"}},
	} {
		t.Run(name, func(t *testing.T) {
			var fields []string
			for _, e := range Refusals(c.marks.Check("marks")) {
				assert.Equal(t, CodeInvalid, e.Code)
				fields = append(fields, e.Field)
			}
			assert.Equal(t, c.want, fields)
		})
	}
}

func TestAMarkIsFoundByItsStage(t *testing.T) {
	marks := StageMarks{{S0, 0}, {S7, 90}}
	seconds, marked := marks.At(S7)
	assert.Equal(t, 90, seconds)
	assert.True(t, marked)
	_, marked = marks.At(S8)
	assert.False(t, marked, "not marked is not zero")
}

func TestAFailIsCriticalOnlyOnACriticalStep(t *testing.T) {
	missed := CriticalSteps{{"called for help", StepYes}, {"said it is safe to approach", StepNo}}
	assert.True(t, Assessment{Result: Fail, Steps: missed}.Critical())
	assert.False(t, Assessment{Result: Fail, Steps: missed[:1]}.Critical(), "too slow, say")
	assert.False(t, Assessment{Result: Pass, Steps: missed}.Critical())
	assert.Equal(t, "said it is safe to approach", missed.Failed())
}

func TestOnlyThreeMethodsAreAboutTheBucket(t *testing.T) {
	var aerial []Method
	for _, m := range Methods {
		if m.Aerial() {
			aerial = append(aerial, m)
		}
	}
	assert.Equal(t, []Method{PairKit, LoneKit, ManualLowering}, aerial)
}

func TestOnlyWhoseGradeSaysSoGoesAloft(t *testing.T) {
	assert.True(t, Qualified.Aloft())
	assert.True(t, Apprentice.Aloft())
	for _, g := range []Grade{Ground, Office, ""} {
		assert.False(t, g.Aloft(), "%q: not knowing is no", g)
	}
}

func TestListsComeBackFromTheirColumn(t *testing.T) {
	for _, want := range []StageMarks{nil, {{S0, 0}, {S10, 400}}} {
		stored, err := want.Value()
		require.NoError(t, err)
		got := StageMarks{{S5, 5}}
		require.NoError(t, got.Scan(stored))
		assert.Equal(t, want, got)
	}
	var l List
	assert.Error(t, l.Scan("[1"))
	assert.Error(t, l.Scan(3.5))
}
