package rollcall

import (
	"groundhand/internal/groundhand"
)

// Offering asks for slots made from what is really there: at each yard, on each of the weekdays, devices and kits in service and assessors
// with authority who are not away. Each is in one place at a time, so one more of any gives more slots.
type Offering struct {
	Weekdays   []string            // "mon" to "sun"; empty: the work days
	Parts      []string            // "am", "pm" or "day"; empty: "am"
	EveryWeeks int                 // every how many weeks from the first day on; 0: every week
	Yards      []groundhand.YardID // empty: every yard
	Seats      int                 // of each slot; 0: 6
	MaxRuns    int                 // of each slot; 0: as many as its seats can need
	Minutes    int                 // of each slot, without travel; 0: 240
	Most       int                 // slots in all, spread over the window; 0: 400, which is also the most
}

// SlotLeftOut is a booked session that cannot be a slot, with the first thing against it.
type SlotLeftOut struct {
	Slot   string
	Date   groundhand.Date
	Reason LeftOutReason
}

// LeftOutReason says why a booked session is no slot of a rotation.
type LeftOutReason string

// The reasons, in the order in which they are looked for.
const (
	SlotForbidden      LeftOutReason = "FORBIDDEN"
	SlotYardMissing    LeftOutReason = "NO_YARD"
	SlotYardClosed     LeftOutReason = "YARD_CLOSED"
	SlotNoAuthority    LeftOutReason = "NO_AUTHORITY"          // nobody with authority for any of its planned methods leads it
	SlotDeviceOut      LeftOutReason = "DEVICE_OUT_OF_SERVICE" // on that day, by what is recorded now
	SlotKitOut         LeftOutReason = "KIT_OUT_OF_SERVICE"
	SlotNothingPlanned LeftOutReason = "NOTHING_PLANNED" // none of its methods is planned
)
