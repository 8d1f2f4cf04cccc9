package graph

import (
	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
)

// twiceSteps is how often a question about two moments is asked in between, as a rule.
const twiceSteps = 10

// beliefCosts are those of the questions about how far to believe the records.
func beliefCosts(c *generated.ComplexityRoot) {
	c.Query.Disputes = func(below int, _ *bool, first *int, after *string) int { return paged(below, first, after) }
	c.Query.Reviews = func(below int, _ *bool, first *int, after *string) int { return paged(below, first, after) }
	c.Query.Holds = func(below int, _ *bool, first *int, after *string) int { return paged(below, first, after) }
	c.Query.Retained = func(below int, _ groundhand.Date, first *int, after *string) int { return paged(below, first, after) }
	c.Query.Duplicates = func(below int) int { return companyCost + times(below, usualList) }
	c.Query.RefusedAttempts = sincePaged
	c.Query.Corrections = sincePaged
	c.Query.RuleProposals = paged
	c.Query.ColumnMappings = paged
	c.Query.ImportRows = func(below int, _ string, first *int, after *string) int { return paged(below, first, after) }
	c.Query.Viewings = func(below int, _ *string, _ groundhand.Instant, first *int, after *string) int {
		return paged(below, first, after)
	}
	c.Query.RulePreview = func(below int, _ generated.RulePreviewAsk) int { return companyCost + below }
	c.RulePreview.Crews = func(below int) int { return times(below, usualList) }
	c.Query.StandingTwice = func(below int, _ generated.StandingAsk, _ groundhand.Instant, _ *groundhand.Instant) int {
		return twiceSteps*standingCost + below
	}
	c.Query.CoverTwice = func(below int, _ generated.CoverAsk, _ groundhand.Instant, _ *groundhand.Instant) int {
		return twiceSteps*coverCost + below
	}
	c.Query.JobCoverTwice = func(below int, _ string, _ []string, _ *generated.JobWish, _ groundhand.Instant, _ *groundhand.Instant) int {
		return twiceSteps*coverCost + below
	}
	c.Query.OwnRecord = func(below int) int { return standingCost + below }
	c.Query.WorkerRecord = func(below int, _ string) int { return standingCost + below }
	c.WorkerRecord.Entries = func(below int) int { return times(below, usualList) }
	c.Query.LeaningCrews = func(below int, _ groundhand.Date) int { return companyCost + below }
	c.Query.AuditSample = func(below int, _, n int, _, _ groundhand.Date) int { return companyCost + times(below, max(n, 1)) }
	c.Query.AuditScreens = func(below int, _, _ groundhand.Date) int { return companyCost + below }
	c.Query.AuditTrail = func(below int, _ groundhand.Instant) int { return companyCost + below }
}

func sincePaged(below int, _ groundhand.Instant, first *int, after *string) int {
	return paged(below, first, after)
}
