package training

import (
	"cmp"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
	"groundhand/internal/store"
)

// diary is what is recorded about the people and the days of a plan, read in few queries however large the plan is.
type diary struct {
	sessions    []groundhand.Session // that stand, of the days of the plan
	standing    map[groundhand.SessionID]groundhand.Session
	seated      map[groundhand.SessionID]map[groundhand.WorkerID]bool
	bookings    map[groundhand.WorkerID][]groundhand.Booking
	absences    map[groundhand.WorkerID][]groundhand.Unavailability
	employments map[groundhand.WorkerID][]groundhand.Employment
	names       map[groundhand.WorkerID]string
	kept        func(groundhand.WorkerID) groundhand.WorkerID // everything stands here under the id that a merge kept
}

// diaryOf reads the diary from the first day of a plan to its last.
func diaryOf(in *entering, made rotation.Plan, slots map[string]rotation.Slot) (diary, error) {
	d := diary{kept: in.tx.Kept, standing: map[groundhand.SessionID]groundhand.Session{}, seated: map[groundhand.SessionID]map[groundhand.WorkerID]bool{},
		bookings: map[groundhand.WorkerID][]groundhand.Booking{}, absences: map[groundhand.WorkerID][]groundhand.Unavailability{},
		employments: map[groundhand.WorkerID][]groundhand.Employment{}}
	from, to, people := reachOf(in, made, slots)
	if len(people) == 0 {
		return d, nil
	}
	if err := d.readSessions(in, from, to); err != nil {
		return d, err
	}
	absences, err := in.tx.UnavailableBetween(in.ctx, people, from, to)
	if err != nil {
		return d, err
	}
	for _, u := range absences {
		d.absences[u.WorkerID] = append(d.absences[u.WorkerID], u)
	}
	employments, err := store.FindStanding[groundhand.Employment](in.ctx, in.tx, store.ByWorker, people)
	if err != nil {
		return d, err
	}
	for _, e := range employments {
		d.employments[e.WorkerID] = append(d.employments[e.WorkerID], e)
	}
	d.names, err = in.tx.NamesOn(in.ctx, people, in.today())
	return d, err
}

// reachOf gives the time that a plan reaches over, whole days, and everybody in it.
func reachOf(in *entering, made rotation.Plan, slots map[string]rotation.Slot) (from, to groundhand.Instant, people []groundhand.WorkerID) {
	var first, last groundhand.Date
	for _, held := range made.Sessions {
		slot := slots[held.Slot]
		first, last = min(cmp.Or(first, slot.Date), slot.Date), max(last, slot.Date)
		people = append(people, in.tx.Kept(groundhand.WorkerID(slot.Instructor)))
		for _, who := range held.Attend {
			people = append(people, in.tx.Kept(groundhand.WorkerID(who.Worker)))
		}
	}
	slices.Sort(people)
	const margin = 60 // days, for sessions that were moved since
	return groundhand.InstantOf((first - margin).Start(in.zone)), groundhand.InstantOf((last + margin).Start(in.zone)), slices.Compact(people)
}

func (d *diary) readSessions(in *entering, from, to groundhand.Instant) error {
	sessions, err := in.tx.SessionsBetween(in.ctx, from, to)
	if err != nil {
		return err
	}
	return d.take(in, sessions)
}

// take adds sessions that stand, with who is booked in them; those that are there already are left as they are.
func (d *diary) take(in *entering, sessions []groundhand.Session) error {
	var ids []groundhand.SessionID
	for _, s := range sessions {
		if _, there := d.standing[s.ID]; !there {
			d.sessions, ids = append(d.sessions, s), append(ids, s.ID)
			d.standing[s.ID], d.seated[s.ID] = s, map[groundhand.WorkerID]bool{}
		}
	}
	bookings, err := store.FindStanding[groundhand.Booking](in.ctx, in.tx, store.BySession, ids)
	for _, b := range bookings {
		d.seated[b.SessionID][b.WorkerID] = true
		d.bookings[b.WorkerID] = append(d.bookings[b.WorkerID], b)
	}
	return err
}

// who is the id of somebody in the plan as it stands in the diary: two rows may have been found to be one person since.
func (d *diary) who(in string) groundhand.WorkerID { return d.kept(groundhand.WorkerID(in)) }

// name is what somebody is called today; the id where no name is known.
func (d *diary) name(who string) string {
	return cmp.Or(d.names[d.who(who)], who)
}

// left says that somebody was employed and is not on a day.
func (d *diary) left(who groundhand.WorkerID, on groundhand.Date) bool {
	all := d.employments[who]
	return len(all) > 0 && !slices.ContainsFunc(all, func(e groundhand.Employment) bool { return e.FromOn <= on && (e.ToOn == 0 || on <= e.ToOn) })
}

// away says that somebody is away or on standby for a part of a session.
func (d *diary) away(s groundhand.Session, who groundhand.WorkerID) bool {
	return slices.ContainsFunc(d.absences[who], func(u groundhand.Unavailability) bool {
		return u.FromAt < s.EndAt && (u.ToAt == 0 || s.StartAt < u.ToAt)
	})
}

// elsewhere gives another session at the time that somebody has a seat in or leads.
func (d *diary) elsewhere(s groundhand.Session, who groundhand.WorkerID) (groundhand.Session, bool) {
	for _, other := range d.sessions {
		if other.ID != s.ID && overlap(other, s) && (other.AssessorID == who || d.seated[other.ID][who]) {
			return other, true
		}
	}
	return groundhand.Session{}, false
}

// renewsSince says that somebody was booked after a moment, in a session that is not of the plan, to renew a method on a family.
func (d *diary) renewsSince(who groundhand.WorkerID, method, family string, since groundhand.Instant, plan groundhand.PlanID) bool {
	return slices.ContainsFunc(d.bookings[who], func(b groundhand.Booking) bool {
		s := d.standing[b.SessionID]
		return b.RecordedAt > since && s.PlanID != plan && b.Renews.Has(method) && string(s.FamilyID) == family
	})
}
