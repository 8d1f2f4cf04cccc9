package training

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
)

func TestSessionsAreRefused(t *testing.T) {
	form := func(change func(*scene, *SessionForm)) func(*scene) error {
		return func(sc *scene) error {
			return try(sc, sc.desk.BookSession, sc.session(func(f *SessionForm) { change(sc, f) }))
		}
	}
	walk(t, []refusal{
		{"it ends before it starts", form(func(sc *scene, f *SessionForm) { f.EndAt = sc.moment("2025-06-24", 7, 0) }), says("INVALID endAt")},
		{"it lasts longer than a day", form(func(sc *scene, f *SessionForm) { f.EndAt = sc.moment("2025-06-25", 8, 1) }), says("INVALID endAt")},
		{"it lies more than five years ahead", form(func(sc *scene, f *SessionForm) {
			f.StartAt, f.EndAt = sc.moment("2030-06-12", 8, 0), sc.moment("2030-06-12", 9, 0)
		}), says("INVALID startAt", "INVALID endAt")},
		{"no seats", form(func(_ *scene, f *SessionForm) { f.Seats, f.Bookings = 0, nil }), says("INVALID seats")},
		{"61 seats", form(func(_ *scene, f *SessionForm) { f.Seats = 61 }), says("INVALID seats")},
		{"more people than seats", form(func(_ *scene, f *SessionForm) { f.Seats = 1 }), says("INVALID bookings")},
		{"no method", form(func(_ *scene, f *SessionForm) { f.Methods = nil }), says("INVALID methods")},
		{"a method that does not exist, and one twice", form(func(_ *scene, f *SessionForm) {
			f.Methods = groundhand.List{"PAIR_KIT", "JUMP", "PAIR_KIT"}
		}), says("INVALID methods[1]", "INVALID methods[2]")},
		{"the same worker twice", form(func(sc *scene, f *SessionForm) { f.Bookings[1].WorkerID = sc.maren }), says("INVALID bookings[1].workerId")},
		{"unknown yard, kit, device, assessor and worker", form(func(_ *scene, f *SessionForm) {
			f.YardID, f.KitID, f.DeviceID, f.AssessorID, f.Bookings[1].WorkerID = "Y9", "K9", "A9", "w8", "w9"
		}), says("NOT_FOUND yardId", "NOT_FOUND kitId", "NOT_FOUND deviceId", "NOT_FOUND assessorId", "NOT_FOUND bookings[1].workerId")},
		{"two sessions at the same time for one worker", func(sc *scene) error {
			must(sc, sc.desk.BookSession, sc.session())
			return sc.after(func() error {
				return try(sc, sc.desk.BookSession, sc.session(func(f *SessionForm) {
					f.StartAt, f.EndAt = sc.moment("2025-06-24", 11, 59), sc.moment("2025-06-24", 15, 0)
				}))
			})
		}, says("CONFLICT bookings[0].workerId", "CONFLICT bookings[1].workerId")},
		{"a seat more for somebody who is elsewhere", func(sc *scene) error {
			must(sc, sc.desk.BookSession, sc.session())
			other := must(sc, sc.desk.BookSession, sc.session(func(f *SessionForm) { f.Bookings = nil }))
			return sc.after(func() error {
				return try(sc, sc.desk.BookSeat, BookingForm{SessionID: other.Session.ID, WorkerID: sc.maren})
			})
		}, says("CONFLICT workerId")},
		{"a seat more in a full session", func(sc *scene) error {
			full := must(sc, sc.desk.BookSession, sc.session(func(f *SessionForm) { f.Seats = 2 }))
			return sc.after(func() error {
				return try(sc, sc.desk.BookSeat, BookingForm{SessionID: full.Session.ID, WorkerID: sc.keahi})
			})
		}, says("CONFLICT sessionId")},
		{"a seat in a session that was withdrawn", func(sc *scene) error {
			gone := must(sc, sc.desk.BookSession, sc.session())
			must(sc, sc.desk.Withdraw, WithdrawalForm{EntryID: groundhand.EntryID(gone.Session.ID), Because: "snow"})
			return sc.after(func() error {
				return try(sc, sc.desk.BookSeat, BookingForm{SessionID: gone.Session.ID, WorkerID: sc.keahi})
			})
		}, says("CONFLICT sessionId")},
	})
}

func TestJobsAreRefused(t *testing.T) {
	form := func(change func(*scene, *JobForm)) func(*scene) error {
		return func(sc *scene) error {
			return try(sc, sc.desk.BookJob, sc.job(func(f *JobForm) { change(sc, f) }))
		}
	}
	walk(t, []refusal{
		{"it ends before it starts", form(func(sc *scene, f *JobForm) { f.EndAt = f.StartAt }), says("INVALID endAt")},
		{"five people aloft", form(func(_ *scene, f *JobForm) { f.Aloft = 5 }), says("INVALID aloft")},
		{"fewer than nobody aloft", form(func(_ *scene, f *JobForm) { f.Aloft = -1 }), says("INVALID aloft")},
		{"unknown workers planned aloft and on a duty", form(func(_ *scene, f *JobForm) {
			f.PlannedAloft = append(f.PlannedAloft, "w9")
			f.Duties[0].WorkerID = "w8"
		}), says("NOT_FOUND plannedAloft[1]", "NOT_FOUND duties[0].workerId")},
		{"it lies before 1950", form(func(sc *scene, f *JobForm) { f.StartAt = sc.moment("1949-12-31", 12, 0) }), says("INVALID startAt")},
		{"an unknown crew and rule set", form(func(_ *scene, f *JobForm) { f.CrewID, f.RuleSetID = "V9", "R-Z" }), says("NOT_FOUND crewId", "NOT_FOUND ruleSetId")},
		{"no kind of site, and a place with a bell in it", form(func(_ *scene, f *JobForm) { f.SiteKind, f.Place = "", "Mill\x07Lane" }), says("INVALID siteKind", "INVALID place")},
		{"five people in a bucket", form(func(_ *scene, f *JobForm) { f.Buckets, f.Aloft = groundhand.Counts{5, 1}, 6 }), says("INVALID buckets[0]")},
		{"a bucket of nobody", form(func(_ *scene, f *JobForm) { f.Buckets = groundhand.Counts{2, 0} }), says("INVALID buckets[1]")},
		{"more in the buckets than aloft", form(func(_ *scene, f *JobForm) { f.Buckets = groundhand.Counts{2, 1} }), says("INVALID aloft")},
		{"five buckets", form(func(_ *scene, f *JobForm) { f.Buckets, f.Aloft = groundhand.Counts{1, 1, 1, 1, 1}, 5 }), says("TOO_LARGE buckets")},
		{"a text that does not exist", form(func(_ *scene, f *JobForm) { f.RuleText = "MARINE" }), says("INVALID ruleText")},
		{"trained hires of a line crew", form(func(_ *scene, f *JobForm) { f.HiresTrained = groundhand.Yes }), says("INVALID hiresTrained")},
		{"hires trained perhaps", form(func(_ *scene, f *JobForm) { f.SiteKind, f.HiresTrained = groundhand.TrimmersSite, "PERHAPS" }), says("INVALID hiresTrained")},
		{"a duty without a name", form(func(_ *scene, f *JobForm) { f.Duties[0].Duty = "" }), says("INVALID duties[0].duty")},
		{"more duties than people", form(func(_ *scene, f *JobForm) { f.Duties = make(groundhand.Duties, 31) }), says("TOO_LARGE duties")},
	})
}

func TestRuleSetsAreRefused(t *testing.T) {
	form := func(change func(*RuleSetForm)) func(*scene) error {
		return func(sc *scene) error {
			f := ShippedRules(rulebook.Shipped()[0], "Alasdair Nwosu-Kerr")
			change(&f)
			return try(sc, sc.desk.AddRuleSet, f)
		}
	}
	walk(t, []refusal{
		{"nobody approved it", form(func(f *RuleSetForm) { f.ApprovedBy = "" }), says("INVALID approvedBy")},
		{"a body that is no rules", form(func(f *RuleSetForm) { f.Body = "{" }), says("INVALID body")},
		{"a body of more than a mebibyte", form(func(f *RuleSetForm) { f.Body = strings.Repeat(" ", 1<<20+1) }), says("TOO_LARGE body")},
		{"it ends before it takes effect", form(func(f *RuleSetForm) { f.EffectiveThrough = f.EffectiveFrom - 1 }), says("INVALID effectiveThrough")},
		{"a second one of our own from the same day", func(sc *scene) error {
			f := ShippedRules(rulebook.Shipped()[0], "Alasdair Nwosu-Kerr")
			must(sc, sc.desk.AddRuleSet, f)
			f.ID = "R0-again"
			return sc.after(func() error { return try(sc, sc.desk.AddRuleSet, f) })
		}, says("CONFLICT effectiveFrom")},
	})
}

func TestJobsWithSeveralBucketsAndOfTrimmers(t *testing.T) {
	sc := newScene(t)
	two := goesThrough(t, sc, sc.desk.BookJob, sc.job(func(f *JobForm) { f.Buckets, f.RuleText = groundhand.Counts{1, 1}, groundhand.ConstructionText }))
	assert.Equal(t, groundhand.Counts{1, 1}, two.Buckets)
	assert.Equal(t, groundhand.ConstructionText, two.RuleText)
	goesThrough(t, sc, sc.desk.BookJob, sc.job(func(f *JobForm) { f.Buckets, f.Aloft = groundhand.Counts{4, 4, 4, 4}, 16 }))
	trees := goesThrough(t, sc, sc.desk.BookJob, sc.job(func(f *JobForm) { f.SiteKind, f.HiresTrained = groundhand.TrimmersSite, groundhand.No }))
	assert.Equal(t, groundhand.No, trees.HiresTrained)
}
