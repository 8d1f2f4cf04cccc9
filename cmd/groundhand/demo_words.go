package main

import (
	"strings"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rotation"
)

// Words for what the engines say in codes.

var methodShort = map[groundhand.Method]string{
	groundhand.PairKit:         "kit, two on the ground",
	groundhand.LoneKit:         "kit, one alone on the ground",
	groundhand.ManualLowering:  "lowering by hand",
	groundhand.PoleTop:         "from a pole",
	groundhand.SubstationCase:  "inside a substation",
	groundhand.LowVoltagePanel: "low-voltage gear",
	groundhand.FirstAid:        "first aid",
	groundhand.Familiarisation: "familiarisation",
}

var standingText = map[competence.Standing]string{
	competence.Suspended: "suspended after a fail, until passed again",
	competence.Held:      "held after a long absence, until a run is watched",
	competence.Never:     "never practised",
}

var verdictWords = map[readiness.Verdict]string{
	readiness.Ready: "READY", readiness.Conditional: "READY WITH CONDITIONS", readiness.NotReady: "NOT READY", readiness.CannotTell: "CANNOT TELL",
}

var becauseWords = map[readiness.Because]string{
	readiness.BecauseAbsent: "not there", readiness.BecauseNotAble: "does not work aloft", readiness.BecauseExclusiveDuty: "has another duty",
	readiness.BecauseNotKnown: "not known yet", readiness.BecauseNoCover: "nobody below otherwise",
}

var findingText = map[readiness.Code]string{
	readiness.CrewBelowTwo:       "fewer than two trained rescuers: %s of %d",
	readiness.NoCover:            "no choice of who goes aloft leaves cover on the ground all through",
	readiness.UnknownDecides:     "look first: ",
	readiness.FirstAidSite:       "too few first aiders in date on site",
	readiness.FirstAidGround:     "no first aider in date would be left on the ground",
	readiness.TooFewAbleAloft:    "too few people who may work aloft",
	readiness.LoneWorker:         "one person alone",
	readiness.NotForRescueDuty:   "somebody is held back from rescue duty",
	readiness.FourMinutes:        "of a fixed site, four minutes are named as information, not as a limit",
	readiness.CallPlanMissing:    "somebody first writes down how help is called from there",
	readiness.DutyUnheld:         "somebody not counted here takes the duty ",
	readiness.SwapAloft:          "somebody comes down in between, as the timeline says",
	readiness.DeviceOutOfService: "the device is out of service",
	readiness.NoDevice:           "there is no device",
}

var severityWords = map[readiness.Severity]string{
	readiness.SeverityBlock: "because:", readiness.SeverityUnknown: "not known:", readiness.SeverityLine: "because:",
	readiness.SeverityCondition: "on condition:", readiness.SeverityNote: "note:",
}

func unknownWords(name string) string {
	if name == "device.family" {
		return "which device, and so which controls"
	}
	return strings.ReplaceAll(name, "_", " ")
}

var reasonWords = map[rotation.Reason]string{
	rotation.NoOffer:            "no session offers it on those controls",
	rotation.OnlySelfAssessed:   "only sessions that they would lead themselves",
	rotation.NeverFree:          "away or too far at every session",
	rotation.OnlyTooEarly:       "every session comes too early to be of use",
	rotation.FirstChanceTooLate: "the first session comes too late",
	rotation.CrowdedOut:         "an earlier session would have cost more elsewhere",
}
