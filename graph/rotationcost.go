package graph

import (
	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
)

// rotationCosts says what the questions about rotations cost: a plan is read whole, and weighing every slot or two plans takes as long as
// looking at the company.
func rotationCosts(c *generated.ComplexityRoot) {
	c.Query.RotationJobs = paged
	c.Query.WhyThisSlot = func(below int, _, _ string) int { return companyCost + below }
	c.Query.ComparePlans = func(below int, _, _ string) int { return companyCost + below }
	c.Query.Clusters = func(below int, _ string) int { return companyCost + below }
	c.Query.RunSheet = func(below int, _ string, _ *int) int { return companyCost + below }
	c.Plan.Sessions = func(below int, _, _ *groundhand.Date) int { return times(below, usualList) }
	c.Plan.NotKeptCurrent = func(below int) int { return times(below, usualList) }
	c.Plan.SlotsSetAside = func(below int) int { return times(below, usualList) }
	c.PlanSession.Attend = func(below int) int { return times(below, usualCrew) }
	c.WhyThisSlot.Choices = func(below int) int { return times(below, usualCrew) }
	c.SlotChoice.Others = func(below int) int { return times(below, usualCrew) }
	c.PlanDifference.Crews = func(below int) int { return times(below, usualList) }
	c.PlanDifference.Moved = func(below int) int { return times(below, usualList) }
	c.PlanDifference.Lapses = func(below int) int { return times(below, usualList) }
	c.RunSheetPart.Runs = func(below int) int { return times(below, usualCrew) }
}
