package rollcall

import (
	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
)

// Stage is one part of a rotation that is longer than the shortest time a renewal is good for. Its problem looks some weeks beyond Through,
// so that whoever lapses just after is looked after in time; its sessions end on Through and the next stage starts on the day after.
type Stage struct {
	Problem rotation.Problem
	Plan    rotation.Plan
	Through groundhand.Date    // the last day that counts to this stage
	Figures rotation.Objective // of the days from the start of the problem to Through; those of all stages add up, but for the last figure
}
