package rollcall

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
)

// DrillThere is something that can be drilled at a yard on a part of a day with what is really there. It says nothing of weather or
// whether the site is fit: local rules, the maker's instructions and licensed practice come first.
type DrillThere struct {
	SessionID  groundhand.SessionID // empty: not booked
	Part       string               // am, pm or day
	Methods    []groundhand.Method
	FamilyID   groundhand.FamilyID // empty: for no family in particular
	DeviceID   groundhand.DeviceID
	KitID      groundhand.KitID // empty: no method of it needs one, or the booking names none
	AssessorID groundhand.WorkerID
	People     []DrillFor // whom it would serve: by last good day and worker
}

// DrillFor is a ticket that a drill would renew: of somebody at work that day who can be sent there and is not current, or lapses within
// the lead time of the rule set.
type DrillFor struct {
	WorkerID    groundhand.WorkerID
	Method      groundhand.Method
	LastGoodDay groundhand.Date // zero: not current that day
}

// DrillsAt answers what can be drilled at a yard on a day with the devices, kits, people and assessors that are really there: the booked
// sessions first, then what is possible besides. On a day of rest only booked sessions are listed.
func (r *Roll) DrillsAt(ctx context.Context, yard groundhand.YardID, day groundhand.Date) ([]DrillThere, error) {
	var out []DrillThere
	err := r.asOfNow(ctx, func(seen *Roll) error {
		sh, err := seen.shelf(ctx)
		if err != nil {
			return err
		}
		_, rules, err := sh.on(day, "")
		if err != nil {
			return err
		}
		ask := RotationAsk{Start: day, End: day.AddDays(rules.LeadDays), Offer: &Offering{Weekdays: []string{weekdayWords[day.Weekday()]}, EveryWeeks: rarestOffer,
			Parts: []string{"am", "pm"}, Yards: []groundhand.YardID{yard}}}
		f, err := seen.planFacts(ctx, ask)
		if err != nil {
			return err
		}
		out, err = f.drillsAt(yard, day)
		return err
	})
	return out, err
}

func (f *planFacts) drillsAt(yard groundhand.YardID, day groundhand.Date) ([]DrillThere, error) {
	ask := f.ask
	f.ask.Offer = nil // the booked sessions first
	posed, err := f.pose()
	f.ask = ask
	if err != nil {
		return nil, err
	}
	if err := f.checkNamed(posed.Problem); err != nil {
		return nil, err
	}
	p, m := posed.Problem, f.makings(&posed.Problem)
	var out []DrillThere
	for _, s := range p.Slots {
		if s.Date == day && s.Yard == string(yard) {
			out = append(out, f.drillThere(m, p, s, groundhand.SessionID(s.ID), m.bookedKit[s.ID]))
		}
	}
	for _, o := range m.all() {
		out = append(out, f.drillThere(m, p, o.slot, "", o.kit))
	}
	return out, nil
}

func (f *planFacts) drillThere(m *makings, p rotation.Problem, s rotation.Slot, session groundhand.SessionID, kit groundhand.KitID) DrillThere {
	out := DrillThere{SessionID: session, Part: s.Part, FamilyID: groundhand.FamilyID(s.Device), DeviceID: groundhand.DeviceID(s.Truck), KitID: kit,
		AssessorID: groundhand.WorkerID(s.Instructor)}
	for _, q := range s.Qualifications {
		out.Methods = append(out.Methods, groundhand.Method(q))
	}
	for _, w := range p.Workers {
		reach := w.Yard == s.Yard || m.reach[[2]string{w.Yard, s.Yard}]
		if w.ID == s.Instructor || !reach || slices.ContainsFunc(append(slices.Clone(w.Leave), w.Standby...), covers(s.Date)) {
			continue
		}
		for _, t := range w.Tickets {
			if slices.Contains(s.Qualifications, t.Qualification) && (t.Device == "" || t.Device == s.Device) && t.ValidThrough <= p.End {
				through := t.ValidThrough
				if through < s.Date {
					through = 0
				}
				out.People = append(out.People, DrillFor{groundhand.WorkerID(w.ID), groundhand.Method(t.Qualification), through})
			}
		}
	}
	slices.SortStableFunc(out.People, func(a, b DrillFor) int {
		return cmp.Or(cmp.Compare(a.LastGoodDay, b.LastGoodDay), cmp.Compare(a.WorkerID, b.WorkerID))
	})
	return out
}

func covers(day groundhand.Date) func(rotation.Stretch) bool {
	return func(s rotation.Stretch) bool { return s.From <= day && day <= s.To }
}
