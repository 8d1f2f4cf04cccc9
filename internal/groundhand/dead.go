package groundhand

// Mark is what decides whether a record stands: its id and the id of the record that it corrects, empty for none.
type Mark struct {
	ID       EntryID
	Replaces EntryID
}

// Dead lists the records that no longer stand. A record is withdrawn when a withdrawal names it that is not itself withdrawn. It is
// replaced when a correction names it; the correction stops replacing only if it was withdrawn without having been replaced itself.
// So in A <- B <- C only C stands; withdraw C and B stands; withdraw only B and C still stands.
// Marks need to hold only corrections, and withdrawals those that name a correction, a withdrawal or a record asked about.
func Dead(marks []Mark, withdrawals []Withdrawal) map[EntryID]bool {
	d := deadness{map[EntryID][]EntryID{}, map[EntryID][]EntryID{}, map[EntryID]bool{}, map[EntryID]bool{}}
	for _, w := range withdrawals {
		d.withdrawnBy[w.WithdrawsID] = append(d.withdrawnBy[w.WithdrawsID], w.ID)
	}
	for _, m := range marks {
		if m.Replaces != "" {
			d.replacedBy[m.Replaces] = append(d.replacedBy[m.Replaces], m.ID)
		}
	}
	dead := map[EntryID]bool{}
	for id := range d.withdrawnBy {
		if d.isWithdrawn(id) {
			dead[id] = true
		}
	}
	for id := range d.replacedBy {
		if d.isReplaced(id) {
			dead[id] = true
		}
	}
	return dead
}

// deadness holds who speaks against whom, and what was found out so far. What is being found out counts as no: rings do not
// arise, because a correction or withdrawal is recorded after its target, but must not hang the program.
type deadness struct {
	withdrawnBy, replacedBy map[EntryID][]EntryID
	withdrawn, replaced     map[EntryID]bool
}

func (d *deadness) isWithdrawn(id EntryID) bool {
	if known, ok := d.withdrawn[id]; ok {
		return known
	}
	d.withdrawn[id] = false
	for _, w := range d.withdrawnBy[id] {
		if !d.isWithdrawn(w) {
			d.withdrawn[id] = true
			break
		}
	}
	return d.withdrawn[id]
}

func (d *deadness) isReplaced(id EntryID) bool {
	if known, ok := d.replaced[id]; ok {
		return known
	}
	d.replaced[id] = false
	for _, x := range d.replacedBy[id] {
		if !d.isWithdrawn(x) || d.isReplaced(x) {
			d.replaced[id] = true
			break
		}
	}
	return d.replaced[id]
}
