package competence

// findSuspensions finds what suspends the person for the task: open fails and open suspensions.
func (r *reading) findSuspensions() {
	r.open = r.open[:0]
	for _, i := range r.own {
		if r.suspends(i) && !r.ended(i) {
			r.open = append(r.open, i)
		}
	}
}

// suspends says that an entry, seen as adverse, reaches the task. A fail that nobody was entitled to assess suspends all the same.
func (r *reading) suspends(i int32) bool {
	b := r.book
	e := &b.entries[i]
	fail := e.isCriticalRun() || e.isFailedAssessment()
	return (fail || e.Kind == Suspension) && e.Method == r.method && r.reachesRole(e.Role) &&
		(!r.line.PerFamily || boundTo(e) == "" || boundTo(e) == r.family) &&
		b.when[i].lo <= r.see.bad && b.setAside(i, r.see.known) == ""
}

// reachesRole: lead and second go together, lone stands apart, a line of any role feels both.
func (r *reading) reachesRole(role string) bool {
	return role == "" || r.line.Role == RoleAny || (role == RoleLone) == (r.role == RoleLone)
}

// boundTo is the family to which a fail or suspension is bound, empty when it reaches every family: a critical fail always does.
func boundTo(e *Entry) string {
	if e.isCriticalRun() || e.Kind == Assessment && e.Critical {
		return ""
	}
	return e.Family
}

// ended says that a fail was followed by a good pass, or a suspension was lifted.
func (r *reading) ended(i int32) bool {
	suspension := r.book.entries[i].Kind == Suspension
	for _, x := range r.own {
		if suspension && r.book.entries[x].Kind == Lifting && r.book.entries[x].Lifts == r.book.entries[i].ID && r.lifting(x) == "" {
			return true
		}
		if !suspension && r.clears(x, i) {
			return true
		}
	}
	return false
}

// clears says that x is a good pass of the same person after i, with a role and a family that cover it.
func (r *reading) clears(x, i int32) bool {
	p, e := &r.book.entries[x], &r.book.entries[i]
	return p.Kind == Assessment && p.Person == e.Person && p.Method == e.Method && (e.Role == "" || covers(p.Role, e.Role)) &&
		(boundTo(e) == "" || boundTo(e) == p.Family) && r.book.later(x, i) && r.goodPass(x)
}

// lifting gives the first reason against a lifting. It need not be that what it lifted still stands.
func (r *reading) lifting(i int32) Reason {
	b := r.book
	if why := b.unseen(i, r.see); why != "" {
		return why
	}
	l, s, p := &b.entries[i], b.byID[b.entries[i].Lifts], b.byID[b.entries[i].ByPass]
	held := &b.entries[s]
	switch {
	case held.taskMethod() != r.method:
		return WrongMethod
	case held.Kind != Suspension || held.Person != l.Person || l.Author == l.Person:
		return LiftsNothing
	case b.when[p].day > b.when[i].day || !r.clears(p, s):
		return LiftsNothing
	}
	return ""
}
