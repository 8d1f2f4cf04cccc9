package main

import (
	"groundhand/internal/competence"
	"groundhand/internal/rotation"
)

// Words for what standings and rotations say in codes; those of a cover answer are rollcall's.

var standingText = map[competence.Standing]string{
	competence.Suspended: "suspended after a fail, until passed again",
	competence.Held:      "held after a long absence, until a run is watched",
	competence.Never:     "never practised",
}

var reasonWords = map[rotation.Reason]string{
	rotation.NoOffer:            "no session offers it on those controls",
	rotation.OnlySelfAssessed:   "only sessions that they would lead themselves",
	rotation.NeverFree:          "away or too far at every session",
	rotation.OnlyTooEarly:       "every session comes too early to be of use",
	rotation.FirstChanceTooLate: "the first session comes too late",
	rotation.CrowdedOut:         "an earlier session would have cost more elsewhere",
}
