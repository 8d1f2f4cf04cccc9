package rulebook_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rulebook"
)

func read(t *testing.T, id string) rulebook.Rules {
	t.Helper()
	for _, s := range rulebook.Shipped() {
		if s.ID == groundhand.RuleSetID(id) {
			r, err := rulebook.Read(s.Body)
			require.NoError(t, err)
			return r
		}
	}
	require.FailNow(t, "no rule set is called "+id)
	return rulebook.Rules{}
}

func line(t *testing.T, r rulebook.Rules, id string) competence.Line {
	t.Helper()
	for _, l := range r.Standing {
		if l.ID == id {
			return l
		}
	}
	require.FailNow(t, "no line is called "+id)
	return competence.Line{}
}

func TestShippedSetsAreDatedAndReadable(t *testing.T) {
	var heads []string
	for _, s := range rulebook.Shipped() {
		r, err := rulebook.Read(s.Body)
		require.NoError(t, err, s.ID)
		assert.Equal(t, 60, r.LeadDays, s.ID)
		heads = append(heads, string(s.ID)+" "+s.EffectiveFrom.String()+map[bool]string{true: " by date", false: " by name"}[s.IsDefault])
	}
	assert.Equal(t, []string{"R0 2024-01-01 by date", "R1 2024-11-01 by date", "R2 2025-03-01 by date", "R-C 2024-01-01 by name",
		"R-X 2024-01-01 by name"}, heads)
}

func TestNoLineClaimsALaw(t *testing.T) {
	for _, s := range rulebook.Shipped() {
		r := read(t, string(s.ID))
		for _, l := range r.Standing {
			assert.NotEmpty(t, l.Citation, l.ID)
			assert.NotEqual(t, "law", l.CitationKind, "%s: no federal text names an interval for bucket rescue practice", l.ID)
			assert.NotContains(t, strings.ToLower(l.Citation), "required", l.ID)
		}
		assert.NotContains(t, strings.ToLower(s.Title+s.Owner), "osha", s.ID)
	}
	assert.Equal(t, "the employer's rule, informed by 29 CFR 1910.269(a)(2)", line(t, read(t, "R1"), "R1-pair-lead").Citation)
}

func TestOwnRulesDifferAsTheirStoriesSay(t *testing.T) {
	r0, r1, r2 := read(t, "R0"), read(t, "R1"), read(t, "R2")
	habit := line(t, r0, "R0-pair")
	assert.Equal(t, competence.Anniversary, habit.LastGoodDay)
	assert.False(t, habit.PerFamily, "any device")
	assert.Equal(t, "any", habit.Role)
	assert.ElementsMatch(t, []string{"LONE_KIT", "MANUAL_LOWERING"}, habit.AlsoMethods, "any method")

	lead, second := line(t, r1, "R1-pair-lead"), line(t, r1, "R1-pair-second")
	assert.Equal(t, competence.DayBefore, lead.LastGoodDay)
	assert.True(t, lead.PerFamily)
	assert.Equal(t, []int{1, 2}, lead.BarredYears)
	assert.Empty(t, second.BarredYears, "an apprentice may be second")
	assert.Equal(t, 6, lead.AbsenceMonths)
	assert.Equal(t, 1, lead.MaxExtensions)
	assert.Equal(t, 12, line(t, r1, "R1-lone").Interval.Months)
	assert.Equal(t, 6, line(t, r2, "R2-lone").Interval.Months)
	assert.Equal(t, 12, line(t, r2, "R2-pair-lead").Interval.Months)
	aid := line(t, r1, "R1-first-aid")
	assert.ElementsMatch(t, []string{"assessed_pass", "outside_evidence"}, aid.Accepts)
	assert.False(t, aid.PerFamily)
}

func TestClientAndContractorRules(t *testing.T) {
	c, x := line(t, read(t, "R-C"), "RC-pair-lead"), line(t, read(t, "R-X"), "RX-pair-lead")
	assert.Equal(t, competence.DayBefore, c.LastGoodDay)
	assert.Zero(t, c.MaxExtensions, "the client takes no extensions")
	assert.False(t, c.Provisional)
	assert.Equal(t, competence.MonthEnd, x.LastGoodDay)
	assert.Equal(t, readiness.CountsNo, read(t, "R-C").Cover.States[readiness.OnExtension].Counts)
}

func TestAskedOfACrew(t *testing.T) {
	crew := func(size int, families ...string) groundhand.Crew {
		return groundhand.Crew{NormalSize: size, Families: families}
	}
	for name, c := range map[string]struct {
		set  string
		crew groundhand.Crew
		want []rulebook.Asked
	}{
		"a line crew is asked to be second on each of its families": {"R1", crew(5, "F1", "F3"), []rulebook.Asked{
			{"PAIR_KIT", "SECOND", "F1"}, {"PAIR_KIT", "SECOND", "F3"}, {"FIRST_AID", "SECOND", ""}}},
		"a crew of two is asked the lone method": {"R2", crew(2, "F1"), []rulebook.Asked{{"LONE_KIT", "LONE", "F1"}, {"FIRST_AID", "SECOND", ""}}},
		"the old habit asks once, whatever the family": {"R0", crew(2, "F1", "F3"), []rulebook.Asked{
			{"PAIR_KIT", "SECOND", ""}, {"FIRST_AID", "SECOND", ""}}},
	} {
		t.Run(name, func(t *testing.T) { assert.Equal(t, c.want, read(t, c.set).Of(c.crew)) })
	}
}

// change gives R1 with one piece of its text replaced.
func change(t *testing.T, old, new string) string {
	t.Helper()
	body := rulebook.Shipped()[1].Body
	require.Contains(t, body, old)
	return strings.Replace(body, old, new, 1)
}

func TestFaultsAreNamedByField(t *testing.T) {
	for name, c := range map[string]struct{ old, new, field string }{
		"an interval twice":                {`{"months": 12}`, `{"months": 12, "days": 3}`, "lines[0].interval"},
		"no interval":                      {`{"months": 12}`, `{}`, "lines[0].interval"},
		"too many months":                  {`{"months": 12}`, `{"months": 121}`, "lines[0].interval.months"},
		"a convention nobody knows":        {`"DAY_BEFORE"`, `"SOON"`, "lines[0].last_good_day"},
		"a base month of one month":        {`{"months": 12}, "last_good_day": "DAY_BEFORE"`, `{"months": 1}, "last_good_day": "BASE_MONTH"`, "lines[0].interval"},
		"half a calendar year":             {`{"months": 12}, "last_good_day": "DAY_BEFORE"`, `{"months": 18}, "last_good_day": "CALENDAR_YEAR"`, "lines[0].interval"},
		"an unknown method":                {`"method": "PAIR_KIT"`, `"method": "WINCH"`, "lines[0].method"},
		"a role in capitals":               {`"role": "lead"`, `"role": "LEAD"`, "lines[0].role"},
		"two lines for one method, role":   {`"role": "second"`, `"role": "lead"`, "lines[1].role"},
		"a year nobody is in":              {`[1, 2]`, `[0]`, "lines[0].barred_years[0]"},
		"nothing counts":                   {`["assessed_pass", "drill_run"]`, `[]`, "lines[0].accepts"},
		"an unknown kind of evidence":      {`["assessed_pass", "drill_run"]`, `["attendance"]`, "lines[0].accepts[0]"},
		"no citation":                      {`the employer's rule, informed by 29 CFR 1910.269(a)(2)`, ``, "lines[0].citation"},
		"an unknown kind of citation":      {`"citation_kind": "employer"`, `"citation_kind": "osha"`, "lines[0].citation_kind"},
		"a mistyped field":                 {`"per_family"`, `"per_familly"`, "lines[0]"},
		"a number that is text":            {`"max_extensions": 1`, `"max_extensions": "1"`, "lines[0]"},
		"an ask without a line":            {`{"method": "LONE_KIT", "role": "LONE", "families"`, `{"method": "LONE_KIT", "role": "LEAD", "families"`, "asks[1].role"},
		"an ask without the line's family": {`"families": "crew"`, `"families": "any"`, "asks[0].families"},
		"a card of one":                    {`"crew_rescuers": 2`, `"crew_rescuers": 1`, "cover.crew_rescuers"},
		"an extension in full":             {`"ON_EXTENSION": {"counts": "CONDITIONAL"`, `"ON_EXTENSION": {"counts": "FULL"`, "cover.states.ON_EXTENSION.counts"},
		"a condition without a name":       {`"condition": "EXTENSION_IN_USE", `, ``, "cover.states.ON_EXTENSION.condition"},
		"an unknown need":                  {`"needs": ["DEVICE", "LOWER_CONTROLS", "KIT"]`, `"needs": ["DEVICE", "WINCH"]`, "cover.methods[0].needs[1]"},
		"one first aider in the field":     {`"field": 2`, `"field": 1`, "cover.first_aid.field"},
		"fewer rescuers than roles":        {`"rescuers": 2`, `"rescuers": 1`, "cover.methods[0].rescuers"},
		"a look good for no day":           {`{"days": 7}`, `{"days": 0}`, "inspections.kit.WEEKLY_OUTSIDE"},
		"a look good for years":            {`{"days": 7}`, `{"days": 401}`, "inspections.kit.WEEKLY_OUTSIDE.days"},
		"a look good for six years":        {`"MONTHLY_INSIDE": {"months": 1}`, `"MONTHLY_INSIDE": {"months": 61}`, "inspections.kit.MONTHLY_INSIDE.months"},
		"a look in days and months":        {`{"days": 7}`, `{"days": 7, "months": 1}`, "inspections.kit.WEEKLY_OUTSIDE"},
		"a look good for nothing":          {`{"days": 7}`, `{}`, "inspections.kit.WEEKLY_OUTSIDE"},
		"a look in weeks":                  {`{"days": 7}`, `{"weeks": 1}`, "inspections"},
		"a look that is a number":          {`{"days": 7}`, `7`, "inspections"},
		"a look inside a device":           {`"DEVICE_MONTHLY"`, `"MONTHLY_INSIDE"`, "inspections.device.MONTHLY_INSIDE"},
		"a daily look by interval":         {`"DEVICE_MONTHLY"`, `"DAILY_LOWER_CONTROLS"`, "inspections.device.DAILY_LOWER_CONTROLS"},
		"a look at a kit's controls":       {`"WEEKLY_OUTSIDE"`, `"DEVICE_WEEKLY"`, "inspections.kit.DEVICE_WEEKLY"},
		"looks without a source":           {`"citation": "common practice, no source"` + "\n  }", `"citation": ""` + "\n  }", "inspections.citation"},
		"looks of nobody's things":         {`"device": {`, `"ladder": {`, "inspections"},
		"a lead time of nothing":           {`"lead_days": 60`, `"lead_days": 0`, "lead_days"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := rulebook.Read(change(t, c.old, c.new))
			require.ErrorIs(t, err, groundhand.CodeInvalid)
			var fields []string
			for _, e := range groundhand.Refusals(err) {
				fields = append(fields, e.Field)
			}
			assert.Contains(t, fields, c.field)
		})
	}
}

func TestAllFaultsAtOnce(t *testing.T) {
	body := strings.NewReplacer(`"crew_rescuers": 2`, `"crew_rescuers": 0`, `"lead_days": 60`, `"lead_days": -1`, `"role": "lone"`, `"role": "sole"`,
		`"field": 2`, `"field": 0`).Replace(rulebook.Shipped()[1].Body)
	_, err := rulebook.Read(body)
	var fields []string
	for _, e := range groundhand.Refusals(err) {
		fields = append(fields, e.Field)
	}
	assert.Subset(t, fields, []string{"cover.crew_rescuers", "lead_days", "lines[2].role", "cover.first_aid.field", "asks[1].role"})
}

func TestHostileTextIsRefused(t *testing.T) {
	for name, text := range map[string]string{
		"empty": "", "no object": "[]", "cut short": `{"lines": [`, "nothing in it": "{}", "two values": "{} {}", "nested deep": strings.Repeat("[", 20000),
		"a line that is a number": `{"lines": [7], "cover": 7, "asks": [null]}`, "not text": "\xff\xfe", "an unknown part": `{"colours": []}`,
	} {
		t.Run(name, func(t *testing.T) {
			_, err := rulebook.Read(text)
			assert.ErrorIs(t, err, groundhand.CodeInvalid)
		})
	}
	_, err := rulebook.Read(strings.Repeat(" ", 2<<20))
	assert.ErrorIs(t, err, groundhand.CodeTooLarge)
	_, err = rulebook.Read(`{"lines": [` + strings.Repeat("0,", 600) + `0]}`)
	assert.ErrorIs(t, err, groundhand.CodeTooLarge)
}

// The rhythm of looks is common practice, no source.
func TestLooksAreGoodForAWhile(t *testing.T) {
	usual := map[groundhand.InspectionKind]rulebook.Interval{"WEEKLY_OUTSIDE": {Days: 7}, "MONTHLY_INSIDE": {Months: 1}, "YEARLY": {Months: 12}}
	for _, s := range rulebook.Shipped() {
		asked := read(t, string(s.ID)).Inspections
		assert.Equal(t, usual, asked.Kit, s.ID)
		if s.ID == "R0" {
			assert.Empty(t, asked.Device, "a rule set that says nothing asks nothing of a device")
			continue
		}
		assert.Equal(t, map[groundhand.InspectionKind]rulebook.Interval{"DEVICE_MONTHLY": {Months: 1}, "YEARLY": {Months: 12}}, asked.Device, s.ID)
	}
	for _, c := range []struct {
		name     string
		interval rulebook.Interval
		made     string
		through  string
	}{
		{"a week on", rulebook.Interval{Days: 7}, "2025-06-09", "2025-06-16"},
		{"over the end of a year", rulebook.Interval{Days: 7}, "2024-12-28", "2025-01-04"},
		{"a month on", rulebook.Interval{Months: 1}, "2025-05-13", "2025-06-13"},
		{"into a shorter month", rulebook.Interval{Months: 1}, "2025-01-31", "2025-02-28"},
		{"into a leap month", rulebook.Interval{Months: 1}, "2024-01-31", "2024-02-29"},
		{"from a leap day", rulebook.Interval{Months: 12}, "2024-02-29", "2025-02-28"},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Equal(t, c.through, c.interval.Through(groundhand.MustDate(c.made)).String())
		})
	}
}

// A kit whose look is named by nobody would be good for ever.
func TestEveryLookAtAKitIsNamed(t *testing.T) {
	_, err := rulebook.Read(change(t, `"WEEKLY_OUTSIDE": {"days": 7}, `, ""))
	require.ErrorIs(t, err, groundhand.CodeInvalid)
	assert.Equal(t, "inspections.kit.WEEKLY_OUTSIDE", groundhand.Refusals(err)[0].Field)
}
