package rollcall

import (
	"fmt"
	"slices"

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

// Usual sizes of an offered slot, and bounds. Common practice, no source.
const (
	usualSeats    = 6
	usualMinutes  = 240
	mostOffered   = 400
	mostSeats     = 100
	mostOfferRuns = 1000
	longestOffer  = 600 // minutes
	rarestOffer   = 52  // weeks
	addedByChange = 100 // slots that one more assessor or kit may add, beyond what is offered without
)

var (
	weekdayWords = []string{"sun", "mon", "tue", "wed", "thu", "fri", "sat"} // in the order of time.Weekday
	partWords    = []string{"am", "pm", "day"}
)

func (o *Offering) check(p *groundhand.Problems) {
	each := func(field string, given, known []string) {
		for i, word := range given {
			if !slices.Contains(known, word) {
				p.Add(groundhand.CodeInvalid, fmt.Sprintf("offer.%s[%d]", field, i), "%q is not one of %v.", word, known)
			}
		}
	}
	between := func(field string, n, most int) {
		if n < 0 || n > most {
			p.Add(groundhand.CodeInvalid, "offer."+field, "Give 1 to %d, or 0 for as usual.", most)
		}
	}
	each("weekdays", o.Weekdays, weekdayWords)
	each("parts", o.Parts, partWords)
	between("everyWeeks", o.EveryWeeks, rarestOffer)
	between("seats", o.Seats, mostSeats)
	between("maxRuns", o.MaxRuns, mostOfferRuns)
	between("minutes", o.Minutes, longestOffer)
	between("most", o.Most, mostOffered)
}
