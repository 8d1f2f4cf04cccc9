package training

import (
	"slices"
	"strings"

	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
	"groundhand/internal/store"
)

// authorities are those of everybody who leads what a plan books or has booked, as they stand now.
type authorities map[groundhand.WorkerID][]groundhand.Authority

func (a *adopting) readAuthorities() error {
	var leaders []groundhand.WorkerID
	for _, held := range a.made.Sessions {
		leaders = append(leaders, groundhand.WorkerID(a.slots[held.Slot].Instructor), a.sessions[held.Slot].AssessorID)
	}
	slices.Sort(leaders)
	given, err := store.FindStanding[groundhand.Authority](a.ctx, a.tx, store.ByAssessor, slices.Compact(leaders))
	a.given = authorities{}
	for _, g := range given {
		a.given[g.AssessorID] = append(a.given[g.AssessorID], g)
	}
	return err
}

// authorisedFor refuses a session whose assessor may not judge all of some methods in it, by name: an authority ends, is withdrawn or is
// made narrower after a plan counted on it.
func (a *adopting) authorisedFor(s groundhand.Session, slot rotation.Slot, methods groundhand.List) {
	family := groundhand.FamilyID(slot.Device)
	day := groundhand.DateOf(s.StartAt.In(a.zone))
	var without []string
	for _, m := range methods {
		wanted := groundhand.Assessment{Recorded: groundhand.Recorded{HappenedOn: day}, Method: groundhand.Method(m), FamilyID: family}
		may := slices.ContainsFunc(a.given[s.AssessorID], func(g groundhand.Authority) bool { return covers(g, wanted) })
		if !may && !slices.Contains(without, m) {
			without = append(without, m)
		}
	}
	if len(without) == 0 {
		return
	}
	slices.Sort(without)
	a.Add(groundhand.CodeConflict, "planId", "%s has no authority that day for %s on family %s, and cannot lead the session of %s at %s (slot %s). Suggest a new plan, or adopt the other slots.",
		a.diary.name(string(s.AssessorID)), strings.Join(without, ", "), orAny(family), a.clock(s.StartAt), s.YardID, slot.ID)
}

// renewing lists the methods that somebody renews.
func renewing(all []rotation.Attendee) (out groundhand.List) {
	for _, who := range all {
		out = append(out, who.Renews...)
	}
	return out
}
