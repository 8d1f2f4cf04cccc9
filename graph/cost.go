package graph

import (
	"github.com/99designs/gqlgen/graphql"

	"groundhand/graph/generated"
	"groundhand/internal/certificate"
	"groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// A field costs one and what stands below it; a list costs its rows times what stands below each. Lists without a size are charged what
// is usual: the bound is there to stop a question that would hold the machine, not to price an honest one.
const (
	usualCrew  = 6
	usualList  = 25
	wholeLists = 100
)

// What takes work however little is read of its answer costs that much: the engines are asked, the whole company is loaded.
const (
	standingCost = 50
	coverCost    = 200
	companyCost  = 2000
)

func costs() generated.ComplexityRoot {
	var c generated.ComplexityRoot
	c.Query.Workers = paged
	c.Query.Crews = paged
	c.Query.Devices = paged
	c.Query.Kits = paged
	c.Query.Sweeps = paged
	c.Query.Certificates = func(below int, _ *certificate.Filter, _ []certificate.State, first *int, after *string, _ *groundhand.Instant) int {
		return standingCost + paged(below, first, after)
	}
	c.Query.Certificate = func(below int, _ string, _ *groundhand.Instant) int { return standingCost + below }
	c.Query.SigningKeys = func(below int) int { return times(below, usualCrew) }
	c.Query.Plans = paged
	c.Query.Flags = func(below int, _ *bool, first *int, after *string, _ *groundhand.Instant) int {
		return paged(below, first, after)
	}
	c.Query.Sessions = func(below int, _, _ groundhand.Date) int { return times(below, usualList) }
	c.Query.Jobs = func(below int, _, _ groundhand.Date) int { return times(below, wholeLists) }
	c.Query.CoverOn = func(below int, _ groundhand.Date, _ *string, _ *groundhand.Instant) int {
		return coverCost*2 + times(below, usualList)
	}
	c.Query.CrewCover = func(below int, ask generated.CoverAsk, _ *groundhand.Instant) int {
		return askedCost(ask.Changes) + below
	}
	c.Query.JobCover = func(below int, _ string, _ []string, wish *generated.JobWish, _ *groundhand.Instant) int {
		return askedCost(or(wish).Changes) + below
	}
	c.Query.Outlook = func(below int, _ groundhand.Date, _ *int, _ *groundhand.Instant) int { return companyCost + below }
	c.Query.StormGrid = func(below int, _ generated.StormAsk) int { return companyCost + below }
	c.Query.EffectOf = func(below int, _ generated.EventAsk) int { return companyCost + below }
	c.Outlook.Crews = func(below int) int { return times(below, usualList) }
	c.StormGrid.Rows = func(below int) int { return times(below, usualList) }
	c.GridRow.Cells = func(below int) int { return times(below, usualCrew) }
	c.Effect.Jobs = func(below int) int { return times(below, usualCrew) }
	c.Query.AnswersGiven = paged
	c.Query.Shifts = func(below int, _, _ groundhand.Date) int { return times(below, wholeLists) }
	c.Query.Checklists = func(below int) int { return times(below, usualCrew) }
	c.Checklist.Lines = func(below int) int { return times(below, usualCrew) }
	c.Mutation.GiveAnswer = func(below int, _ string, form generated.AnswerForm) int { return askedCost(form.Changes) + below }
	c.Cover.RefusedCandidates = func(below int) int { return times(below, usualList) }
	c.Query.Standing = func(below int, _ generated.StandingAsk) int { return standingCost + below }
	c.Query.PeopleUnderRules = func(below int, people []string, _ string, _ groundhand.Date, _ []generated.LineAsk, _ *groundhand.Instant) int {
		return standingCost + times(below, len(people))
	}
	c.Mutation.IssueMissingCertificates = func(below int, _ string, people []string, _ string, _ groundhand.Date) int {
		return standingCost + times(below, len(people))
	}
	c.Query.StandingFacts = func(below int, _ generated.StandingAsk) int { return standingCost + below }
	c.Query.Course = func(below int, _ generated.StandingAsk, _, _ groundhand.Date) int { return times(below, wholeLists) }
	c.Query.RollCall = func(below int, _ groundhand.Date) int { return companyCost + below }
	c.Query.LookAhead = func(below int, _ groundhand.Date, _ *int, _ *groundhand.Instant) int { return companyCost + below }
	c.Query.Accounts = paged
	c.RollCall.NotCurrent = paged
	c.RollCall.Near = paged
	c.RollCall.Crews = func(below int) int { return times(below, usualList) }
	c.LookAhead.Lapses = paged
	c.Mutation.Sweep = func(below int, _ groundhand.Date) int { return companyCost + below }
	c.Mutation.SuggestRotation = func(below int, _ string, _ training.RotationForm) int { return companyCost + below }
	c.Mutation.StartRotation = func(below int, _ string, _ training.RotationForm) int { return companyCost + below }
	rotationCosts(&c)
	c.Mutation.PreviewImport = func(below int, _ graphql.Upload, _ generated.ImportKind, _ []string) int { return companyCost + below }
	c.Mutation.ImportFile = func(below int, _ string, _ graphql.Upload, _ generated.ImportKind, _ []int, _ []string, _ *generated.ImportAccept) int {
		return companyCost + below
	}
	beliefCosts(&c)
	c.Crew.Members = func(below int, _ *groundhand.Date) int { return times(below, usualCrew) }
	c.Worker.Standings = func(below int, _ *groundhand.Date) int { return times(below, usualCrew) }
	c.Session.Runs = func(below int) int { return times(below, usualCrew) }
	c.Session.Bookings = func(below int) int { return times(below, usualCrew) }
	c.Run.Parts = func(below int) int { return times(below, usualCrew) }
	return c
}

// askedCost: a search for changes weighs everybody around, again and again.
func askedCost(changes *generated.ChangesAsk) int {
	if changes != nil {
		return companyCost
	}
	return coverCost
}

func paged(below int, first *int, _ *string) int {
	if first == nil {
		return times(below, 50)
	}
	return times(below, max(*first, 1))
}

// times is what a list costs. A list of plain values under it is cheap; a list in a list multiplies.
func times(below, rows int) int { return 1 + rows*max(below, 1)/costShare }

// costShare keeps an ordinary page of 50 rows with ten fields each well inside the bound.
const costShare = 2
