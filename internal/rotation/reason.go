package rotation

// notKept lists the due tickets that are lapsed on some worked day of the plan or could not be kept current in any, with the reason. A
// reason that holds for every plan goes before crowded out.
func (r *roster) notKept() []NotKept {
	out := []NotKept{}
	for t := range r.g.tickets {
		row := &r.g.tickets[t]
		if !row.due {
			continue
		}
		reason, unavoidable := r.g.whyNever(t)
		lapsed := r.lapsedDays(t)
		if !unavoidable && lapsed <= row.least {
			continue
		}
		one := NotKept{Worker: r.g.p.Workers[row.worker].ID, Qualification: r.g.quals[row.qual].ID, Device: row.device,
			DaysLapsed: lapsed, UnavoidableDays: row.least, Reason: CrowdedOut}
		if unavoidable {
			one.Reason = reason
		}
		if lapsed > row.least {
			one.Chances = r.chances(t)
		}
		out = append(out, one)
	}
	return out
}

func (r *roster) lapsedDays(t int) int {
	if r.renewed[t] == none {
		return r.g.tickets[t].never
	}
	return r.g.lapsed(t, r.renewed[t])
}

// whyNever gives the reason why a due ticket cannot be kept current in any plan; false when it can, or when nobody would notice.
func (g *grid) whyNever(t int) (Reason, bool) {
	row := &g.tickets[t]
	if row.never == 0 || row.first != none && row.least == 0 {
		return "", false
	}
	var others, free bool
	for _, s := range g.offered(t) {
		others = others || g.slots[s].leader != row.worker
		free = free || g.reaches(row.worker, s)
	}
	switch {
	case len(g.offered(t)) == 0:
		return NoOffer, true
	case !others:
		return OnlySelfAssessed, true
	case !free:
		return NeverFree, true
	case row.first == none:
		return OnlyTooEarly, true
	}
	return FirstChanceTooLate, true
}

// mostChances is for how many slots of one ticket it is said what stands in the way.
func (g *grid) mostChances() int {
	if g.large() {
		return 6
	}
	return 200
}

// chances are the slots that would leave fewer lapsed days than the plan does, the earliest first and no more than mostChances, each with
// the first rule that fails when the renewal is moved there and nothing else changes.
func (r *roster) chances(t int) []Chance {
	var out []Chance
	now, most := r.lapsedDays(t), r.g.mostChances()
	for _, s := range r.g.offeredFrom(t) {
		if r.g.lapsed(t, s) >= now || len(out) == most {
			break // later slots leave no fewer
		}
		if r.g.eligible(t, s) {
			out = append(out, Chance{r.g.p.Slots[s].ID, r.obstacle(t, s)})
		}
	}
	return out
}

// obstacle is the first hard rule that fails when a ticket is moved to a slot, or the first figure that gets worse;
// empty when nothing does, which only happens when the time ran out.
func (r *roster) obstacle(t, s int) string {
	before := r.figures()
	mark := r.mark()
	defer r.undo(mark)
	if r.pinned[t] {
		return "F13"
	}
	w := r.g.tickets[t].worker
	k := &wreck{roster: r}
	crews := r.crewsIn(around(r.renewed[t], s), nil)
	k.dropTicket(t)
	if r.busy(w, s) || !r.held(s) && r.blocked(s) {
		return "F12"
	}
	if !r.staggered(t, s) {
		return StaggerRule
	}
	if rule := r.forcedIn(t, s); rule != "" {
		return rule
	}
	if rule := r.leftBehind(k.touched); rule != "" {
		return rule
	}
	if slots := append(k.touched, s); !r.sound(slots, r.crewsIn(slots, crews)) {
		return "F14"
	}
	if after := r.figures(); !after.Less(before) {
		return after.worseThan(before)
	}
	return ""
}

func (r *roster) forcedIn(t, s int) string {
	if w := r.g.tickets[t].worker; !has(r.attends[s], w) {
		r.join(w, s)
	}
	r.renew(t, s)
	return r.sessionFault(s)
}

// leftBehind tests the session that the ticket was taken from.
func (r *roster) leftBehind(touched []int) string {
	for _, s := range touched {
		if r.held(s) && r.sessionFault(s) != "" {
			return r.sessionFault(s)
		}
	}
	return ""
}

// worseThan names the first figure that is larger than before.
func (o Objective) worseThan(before Objective) string {
	a, b := o.Levels(), before.Levels()
	for i := range a {
		if a[i] > b[i] {
			return LevelNames[i]
		}
	}
	return ""
}
