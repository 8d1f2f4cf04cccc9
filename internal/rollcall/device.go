package rollcall

import (
	"cmp"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// device gives a device with the times it was out of service. Whatever is not recorded is unknown, never good.
func (r *Roll) device(d groundhand.Device, looks []groundhand.Inspection) *readiness.Device {
	out := &readiness.Device{ID: string(d.ID), Family: string(d.FamilyID), EmergencyLowering: yesNo(d.EmergencyLow), OutOfService: r.outOfService(looks)}
	if d.AnchorCM > 0 {
		out.AnchorHeightCM = &d.AnchorCM
	}
	return out
}

func yesNo(a groundhand.Answer) readiness.YesNo {
	switch a {
	case groundhand.Yes:
		return readiness.Yes
	case groundhand.No:
		return readiness.No
	}
	return readiness.Unknown
}

// outOfService follows the looks at one device in time. A find puts it out of service; only a return by somebody puts it back, however
// many later looks find nothing. A find on a bare day counts from the start of the day, a return from its end.
func (r *Roll) outOfService(looks []groundhand.Inspection) []readiness.Interval {
	turns := r.turns(looks)
	out := []readiness.Interval{}
	var since groundhand.Instant
	for _, t := range turns {
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

func (r *Roll) turns(looks []groundhand.Inspection) []turn {
	var out []turn
	for _, i := range looks {
		switch {
		case i.Result == groundhand.InService:
		case i.Result == groundhand.OutOfService && i.HappenedAt != 0:
			out = append(out, turn{wholeSecond(i.HappenedAt), true})
		case i.Result == groundhand.OutOfService:
			out = append(out, turn{r.start(i.HappenedOn), true})
		case i.HappenedAt != 0:
			out = append(out, turn{nextSecond(i.HappenedAt), false})
		default:
			out = append(out, turn{r.start(i.HappenedOn + 1), false})
		}
	}
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
