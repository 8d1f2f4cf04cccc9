package competence

import (
	"slices"
	"strings"

	"groundhand/internal/groundhand"
)

// word is the standing on a day, with exactly what the reading saw.
func (r *reading) word(day groundhand.Date) Standing {
	if len(r.open) > 0 {
		return Suspended
	}
	earned := r.earned(day)
	if earned != Lapsed && earned != Never && r.heldOn(day) {
		return Held
	}
	return earned
}

// earned is the standing apart from suspensions and absences.
func (r *reading) earned(day groundhand.Date) Standing {
	on := func(a allowance) bool { return a.on(day) }
	credited := len(r.credits) > 0
	switch {
	case credited && day <= r.last:
		return Current
	case credited && day <= r.grace:
		return InGrace
	case slices.ContainsFunc(r.extensions, on): // each extends a credit
		return OnExtension
	case slices.ContainsFunc(r.provisionals, on):
		return OnPaper
	case credited:
		return Lapsed
	}
	return Never
}

// restsOn lists the entries behind the word of a day, sorted.
func (r *reading) restsOn(day groundhand.Date) []string {
	ids := []string{}
	if len(r.open) > 0 {
		ids = r.addIDs(ids, r.open)
	} else {
		ids = r.addEarned(ids, day)
	}
	slices.Sort(ids)
	return ids
}

func (r *reading) addEarned(ids []string, day groundhand.Date) []string {
	earned := r.earned(day)
	if earned != OnPaper && earned != Never {
		ids = r.addChain(ids)
	}
	switch earned {
	case OnExtension:
		ids = r.addAllowances(ids, r.extensions, day)
	case OnPaper:
		ids = r.addAllowances(ids, r.provisionals, day)
	case Lapsed, Never:
		return ids
	}
	for _, h := range r.holds {
		if h.from <= day {
			ids = r.addIDs(ids, r.away[h.first:h.past])
		}
	}
	return ids
}

func (r *reading) addChain(ids []string) []string {
	for _, c := range r.chain {
		for at := r.credits[c].first; at < r.credits[c].past; at++ {
			if r.counts(at) {
				ids = append(ids, r.book.entries[r.own[at]].ID)
			}
		}
	}
	return ids
}

func (r *reading) addAllowances(ids []string, list []allowance, day groundhand.Date) []string {
	for _, a := range list {
		if a.on(day) {
			ids = append(ids, r.book.entries[a.entry].ID)
		}
	}
	return ids
}

func (r *reading) addIDs(ids []string, entries []int32) []string {
	for _, i := range entries {
		ids = append(ids, r.book.entries[i].ID)
	}
	return ids
}

// refusals lists every entry that a reason stands against, sorted by entry.
func (r *reading) refusals() []Refusal {
	r.judgeLiftings()
	n := 0
	for _, why := range r.why {
		if why != "" {
			n++
		}
	}
	out := make([]Refusal, 0, n)
	for at, why := range r.why {
		if why != "" {
			out = append(out, Refusal{r.book.entries[r.own[at]].ID, why})
		}
	}
	slices.SortFunc(out, func(x, y Refusal) int { return strings.Compare(x.Entry, y.Entry) })
	return out
}

func (r *reading) judgeLiftings() {
	for at, i := range r.own {
		if r.book.entries[i].Kind == Lifting {
			r.why[at] = r.lifting(i)
		}
	}
}
