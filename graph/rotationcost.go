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
	c.Query.DrillsAt = func(below int, _ string, _ groundhand.Date) int { return companyCost + below }
	c.Query.CrewHours = func(below int, _ string) int { return companyCost + below }
	c.DrillsAt.Drills = func(below int) int { return times(below, usualCrew) }
	c.DrillThere.People = func(below int, first *int) int { return paged(below, first, nil) }
	c.CrewHours.Crews = func(below int) int { return times(below, usualList) }
	c.Plan.DrillDays = func(below int, _, _ *groundhand.Date) int { return below + standingCost }
	c.DrillDays.Days = func(below int) int { return times(below, usualList) }
	c.Plan.Unplaced = func(below int, first *int, after *string, _ *int) int {
		return companyCost + paged(below, first, after)
	}
	c.Unplaced.Others = func(below int) int { return times(below, usualCrew) }
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
