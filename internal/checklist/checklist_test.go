package checklist_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/checklist"
	gh "groundhand/internal/groundhand"
)

var today = gh.MustDate("2025-06-11")

// The looks are those of a crew's week, month and year. Common practice, no source.
func TestEveryLookHasAListOfItsOwn(t *testing.T) {
	for _, c := range []struct {
		kind gh.InspectionKind
		of   checklist.Thing
		id   string
	}{
		{gh.WeeklyOutside, checklist.Kit, "kit-outside-1"},
		{gh.MonthlyInside, checklist.Kit, "kit-inside-1"},
		{gh.Yearly, checklist.Kit, "kit-yearly-1"},
		{gh.DailyLowerControls, checklist.Device, "device-daily-1"},
		{gh.DeviceWeekly, checklist.Device, "device-weekly-1"},
		{gh.DeviceMonthly, checklist.Device, "device-monthly-1"},
		{gh.Yearly, checklist.Device, "device-yearly-1"},
	} {
		l, ok := checklist.For(c.kind, c.of, today)
		require.True(t, ok, c.id)
		assert.Equal(t, c.id, l.ID)
		same, ok := checklist.ByID(c.id)
		require.True(t, ok)
		assert.Equal(t, l, same)
		_, early := checklist.For(c.kind, c.of, l.From-1)
		assert.False(t, early, "before its first day it does not hold")
		_, onIt := checklist.For(c.kind, c.of, l.From)
		assert.True(t, onIt)
	}
	assert.Len(t, checklist.All(), 7)
	for _, kind := range []gh.InspectionKind{gh.DailyLowerControls, gh.DeviceWeekly, gh.DeviceMonthly} {
		_, ok := checklist.For(kind, checklist.Kit, today)
		assert.False(t, ok, "a kit has no %s", kind)
	}
	_, ok := checklist.ByID("kit, first version")
	assert.False(t, ok)
}

func TestListsAreWellMade(t *testing.T) {
	key := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	ids := map[string]bool{}
	for _, l := range checklist.All() {
		assert.False(t, ids[l.ID], l.ID)
		ids[l.ID] = true
		assert.NotEmpty(t, l.Title)
		assert.NotZero(t, l.From)
		seen, criticals := map[string]bool{}, 0
		for _, line := range l.Lines {
			assert.Regexp(t, key, line.Key)
			assert.LessOrEqual(t, len(line.Key), 24)
			assert.False(t, seen[line.Key], "%s %s", l.ID, line.Key)
			seen[line.Key] = true
			assert.True(t, strings.HasSuffix(line.Words, "."), line.Words)
			assert.False(t, line.MayNotApply && !line.Critical, "a line that is not critical may always be left out")
			if line.Critical {
				criticals++
			}
		}
		assert.Positive(t, criticals, l.ID)
	}
}

// What takes a thing out of service, in the order of the lists. Common practice, no source.
func TestTheCriticalLines(t *testing.T) {
	want := map[string]string{
		"kit-outside-1":    "in-place seal tag",
		"kit-inside-1":     "whole-rope blocks hooks slings hold rated-load reach",
		"kit-yearly-1":     "whole-rope blocks hooks slings hold rated-load reach parts-opened serial-numbers age-and-use function-test",
		"device-daily-1":   "lower-controls-cycle lower-before-upper emergency-stop emergency-lowering cabinet",
		"device-weekly-1":  "battery pump-handle",
		"device-monthly-1": "lowering-works",
		"device-yearly-1":  "periodic electrical rubber-goods",
	}
	for _, l := range checklist.All() {
		var keys []string
		for _, line := range l.Lines {
			if line.Critical {
				keys = append(keys, line.Key)
			}
		}
		assert.Equal(t, want[l.ID], strings.Join(keys, " "), l.ID)
	}
}

func TestTheYearlyLookAtAKitGoesThroughTheMonthlyOne(t *testing.T) {
	month, _ := checklist.ByID("kit-inside-1")
	year, _ := checklist.ByID("kit-yearly-1")
	assert.Equal(t, month.Lines, year.Lines[:len(month.Lines)])
	assert.Greater(t, len(year.Lines), len(month.Lines))
}

func TestAnsweredAnswersEveryLine(t *testing.T) {
	lines := checklist.Answered("device-daily-1", map[string]gh.StepAnswer{"leaks": gh.StepNo, "no-such-line": gh.StepNo})
	l, _ := checklist.ByID("device-daily-1")
	require.Len(t, lines, len(l.Lines))
	for i, line := range lines {
		assert.Equal(t, l.Lines[i].Key, line.Line)
		assert.Equal(t, l.Lines[i].Critical, line.Critical)
		assert.Equal(t, map[bool]gh.StepAnswer{true: gh.StepNo, false: gh.StepYes}[line.Line == "leaks"], line.Found)
	}
	assert.Empty(t, checklist.Answered("no such list", nil))
}

func TestNobodyWritesIntoTheLists(t *testing.T) {
	all := checklist.All()
	all[0].Lines[0].Critical = false
	again, _ := checklist.ByID(all[0].ID)
	assert.True(t, again.Lines[0].Critical)
	_, ok := again.Line("seal")
	assert.True(t, ok)
	_, ok = again.Line("boom")
	assert.False(t, ok)
}
