package rollcall

import (
	"cmp"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

func yesNo(a groundhand.Answer) readiness.YesNo {
	switch a {
	case groundhand.Yes:
		return readiness.Yes
	case groundhand.No:
		return readiness.No
	}
	return readiness.Unknown
}

// outOfService follows what was found and returned at one device or kit in time. A find puts it out of service; only a return by somebody
// puts it back, however many later looks find nothing. A find on a bare day counts from the start of the day, a return from its end.
func (g *gear) outOfService(of thing) []readiness.Interval {
	out := []readiness.Interval{}
	var since groundhand.Instant
	for _, t := range g.turns(of) {
		switch {
		case t.out && since == 0:
			since = t.at
		case !t.out && since != 0:
			out, since = append(out, readiness.Interval{From: readiness.Edge{At: since}, To: t.at}), 0
		}
	}
	if since != 0 {
		out = append(out, readiness.Interval{From: readiness.Edge{At: since}})
	}
	return out
}

type turn struct {
	at  groundhand.Instant
	out bool
}

// turns lists when a thing went out of service and came back. What was retired never comes back.
func (g *gear) turns(of thing) []turn {
	var out []turn
	var retired groundhand.Instant
	for _, d := range g.defects[of] {
		out = append(out, turn{g.roll.began(d.Recorded), true})
		if d.Cause == groundhand.Retired && (retired == 0 || out[len(out)-1].at < retired) {
			retired = out[len(out)-1].at
		}
	}
	for _, i := range g.looks[of] {
		switch {
		case i.Result == groundhand.OutOfService:
			out = append(out, turn{g.roll.began(i.Recorded), true})
		case i.Result == groundhand.Returned && i.HappenedAt != 0:
			out = append(out, turn{nextSecond(i.HappenedAt), false})
		case i.Result == groundhand.Returned:
			out = append(out, turn{g.roll.start(i.HappenedOn + 1), false})
		}
	}
	out = slices.DeleteFunc(out, func(t turn) bool { return !t.out && retired != 0 && t.at > retired })
	slices.SortStableFunc(out, func(a, b turn) int { return cmp.Or(cmp.Compare(a.at, b.at), backFirst(a, b)) })
	return out
}

// backFirst puts a return before a find of the same moment: what is found then still stands.
func backFirst(a, b turn) int {
	switch {
	case a.out == b.out:
		return 0
	case b.out:
		return -1
	}
	return 1
}
