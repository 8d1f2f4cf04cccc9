// Package audit helps somebody who has to decide whether the records deserve belief: a sample of passes that anybody can draw again, screens
// for what can hardly have been as it is written, the trail of corrections and late entries, who looked at whose record, and a pack of a
// crew's records that can be checked without this program. It gives questions for a person, never a verdict, and ranks nobody.
package audit

import (
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// Auditor answers from the records of a store.
type Auditor struct {
	store *store.Store
	roll  *rollcall.Roll
}

// New makes an auditor; the roll gives the zone of the local day.
func New(s *store.Store, r *rollcall.Roll) *Auditor { return &Auditor{s, r} }

// over is the auditor over what a snapshot sees.
func (a *Auditor) over(s *store.Store) *Auditor {
	return &Auditor{s, rollcall.New(s, a.roll.Zone())}
}
