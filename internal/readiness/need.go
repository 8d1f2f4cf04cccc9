package readiness

import (
	"slices"

	"groundhand/internal/groundhand"
)

// needs is a set of needs: bit i is needNames[i].
type needs uint8

var needNames = []Need{NeedDevice, NeedLowerControls, NeedEmergencyLowering, NeedKit}

const allNeeds needs = 1<<4 - 1

func needsOf(names ...Need) needs {
	var n needs
	for _, name := range names {
		n |= 1 << slices.Index(needNames, name)
	}
	return n
}

// want is one thing of the device and kit table: what is needed, the code when it does not hold, the name of the unknown it may hang on,
// and whether it holds.
type want struct {
	need   needs
	code   Code
	name   string
	holds  YesNo
	within []span // holds means: inside one of these
	outOf  []span // holds means: outside all of these
}

// at is whether the want holds at t.
func (w *want) at(t groundhand.Instant) YesNo {
	switch {
	case w.outOf != nil && anyHolds(w.outOf, t), w.within != nil && !anyHolds(w.within, t):
		return No
	}
	return w.holds
}

// wants is the whole table for the device and the kit of the question.
func (in *inquiry) wants(c *calendar) []want {
	return append(deviceWants(in.q.Device, c), kitWants(in.q, c)...)
}

// deviceWants: without a device no need holds at all, that of the kit included.
func deviceWants(d *Device, c *calendar) []want {
	if d == nil {
		return []want{{need: allNeeds, code: NoDevice, holds: No}}
	}
	return []want{
		{need: needsOf(NeedDevice), code: DeviceOutOfService, holds: Yes, outOf: c.intervals(d.OutOfService, OfDeviceOutOfService, d.ID)},
		{need: needsOf(NeedLowerControls), code: LowerControlsNotChecked, name: "device.lower_controls_checked", holds: d.LowerControlsChecked},
		{need: needsOf(NeedEmergencyLowering), code: EmergencyLoweringMissing, name: "device.emergency_lowering", holds: d.EmergencyLowering},
	}
}

func kitWants(q *Question, c *calendar) []want {
	k, kit := q.Kit, needsOf(NeedKit)
	if k == nil {
		return []want{{need: kit, code: NoKit, holds: No}}
	}
	return []want{
		{need: kit, code: KitNotOnDevice, name: "kit.on_device", holds: k.OnDevice},
		{need: kit, code: KitDoesNotSuit, name: "kit.suits_all", holds: k.SuitsAll},
		{need: kit, code: KitRatedLoad, name: "kit.rated_load_kg", holds: ratedLoad(k, q.Rules.LeastRatedLoadKG)},
		{need: kit, code: KitReach, name: "kit.reach", holds: reaches(k, q.Device)},
		dueWant(KitWeeklyOverdue, "kit.weekly", k.DueThrough.Weekly, OfKitWeekly, k.ID, c),
		dueWant(KitMonthlyOverdue, "kit.monthly", k.DueThrough.Monthly, OfKitMonthly, k.ID, c),
		dueWant(KitYearlyOverdue, "kit.yearly", k.DueThrough.Yearly, OfKitYearly, k.ID, c),
		useWant(k, c),
		{need: kit, code: KitOutOfService, holds: Yes, outOf: c.intervals(k.OutOfService, OfKitOutOfService, k.ID)},
	}
}

func dueWant(code Code, name string, through groundhand.Date, of Of, id string, c *calendar) want {
	w := want{need: needsOf(NeedKit), code: code, name: name}
	if through != 0 {
		w.holds, w.within = Yes, []span{c.due(through, of, id)}
	}
	return w
}

func useWant(k *Kit, c *calendar) want {
	w := dueWant(KitRetired, "kit.use_through", k.UseThrough.Day, OfKitUseThrough, k.ID, c)
	if k.UseThrough.Never {
		w.holds, w.within = Yes, nil
	}
	return w
}

func yesIf(b bool) YesNo {
	if b {
		return Yes
	}
	return No
}

func ratedLoad(k *Kit, least int) YesNo {
	if k.RatedLoadKG == nil {
		return Unknown
	}
	return yesIf(*k.RatedLoadKG >= least)
}

// reaches compares whole centimetres without dividing: usable rope with parts of line times anchor height. Equal is enough.
func reaches(k *Kit, d *Device) YesNo {
	if d == nil || d.AnchorHeightCM == nil || k.Parts == nil || k.RopeCM == nil || k.TailCM == nil {
		return Unknown
	}
	return yesIf(*k.RopeCM-*k.TailCM >= *k.Parts**d.AnchorHeightCM)
}

// reachValues is how high the known reach goes, rounded down, and how high it must.
func reachValues(q *Question) Values {
	if q.Kit == nil || reaches(q.Kit, q.Device) == Unknown {
		return Values{}
	}
	rope, parts := *q.Kit.RopeCM-*q.Kit.TailCM, *q.Kit.Parts
	have := rope / parts
	if rope < 0 && rope%parts != 0 {
		have--
	}
	return Values{"have_cm": &have, "need_cm": q.Device.AnchorHeightCM}
}

// equipment is what device and kit give at a moment: the needs that surely fail and those that hang on something unknown.
type equipment struct{ failing, open needs }

func equipmentAt(table []want, t groundhand.Instant) equipment {
	var e equipment
	for i := range table {
		switch table[i].at(t) {
		case No:
			e.failing |= table[i].need
		case Unknown:
			e.open |= table[i].need
		}
	}
	return e
}

// meets says whether all of a method's needs hold, if of the open needs these turn out well.
func (e equipment) meets(method, well needs) bool {
	return method&(e.failing|e.open&^well) == 0
}
