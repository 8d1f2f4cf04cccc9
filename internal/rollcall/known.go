package rollcall

import (
	"cmp"

	"groundhand/internal/groundhand"
)

// KnownNow is a device with what has become known of it by now, out of its classings.
func (r *Roll) KnownNow(d groundhand.Device, classings []groundhand.Classing) groundhand.Device {
	return r.knownAt(d, inTime(r, classings, func(c groundhand.Classing) groundhand.Recorded { return c.Recorded }), r.store.Now())
}

// knownAt is a device with what its classings, which are in order of time, said by a moment.
func (r *Roll) knownAt(d groundhand.Device, classings []groundhand.Classing, at groundhand.Instant) groundhand.Device {
	for _, c := range classings {
		if r.began(c.Recorded) > at {
			continue
		}
		d.FamilyID = cmp.Or(c.FamilyID, d.FamilyID)
		d.AnchorCM = cmp.Or(c.AnchorCM, d.AnchorCM)
		d.EmergencyLow = cmp.Or(c.EmergencyLow, d.EmergencyLow)
	}
	return d
}
