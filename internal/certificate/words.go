package certificate

import (
	"fmt"
	"strings"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
)

// Words for paper. People read these, so no code is printed.
var (
	methodWords = map[groundhand.Method]string{
		groundhand.PairKit:         "Bucket rescue, two on the ground, block-and-tackle kit",
		groundhand.LoneKit:         "Bucket rescue, one on the ground, block-and-tackle kit",
		groundhand.ManualLowering:  "Bucket rescue by lower controls or emergency lowering, extraction by hand",
		groundhand.PoleTop:         "Rescue from a pole or structure",
		groundhand.SubstationCase:  "Bucket rescue inside a substation",
		groundhand.LowVoltagePanel: "Ground-level rescue from low-voltage gear",
		groundhand.FirstAid:        "First aid and CPR",
		groundhand.Familiarisation: "Familiarisation with the lower controls",
	}
	roleWords = map[groundhand.Role]string{
		groundhand.Lead: "lead rescuer", groundhand.Second: "second rescuer", groundhand.Lone: "lone rescuer",
		"": "not divided into roles",
	}
	shownWords = map[groundhand.EvidenceKind]string{
		groundhand.PassedAssessment: "practical assessment passed", groundhand.PracticeRun: "practice run done",
	}
	conventionWords = map[competence.Convention]string{
		competence.DayBefore:    "the day before the anniversary of the day shown",
		competence.Anniversary:  "the anniversary of the day shown",
		competence.Days365:      "365 days after the day shown",
		competence.MonthEnd:     "the end of the month of the anniversary",
		competence.CalendarYear: "the end of the calendar year",
		competence.BaseMonth:    "the end of the month due",
	}
)

// reasonWords turns a code of an answer into the words it is made of, for a message.
func reasonWords[T ~string](code T) string {
	return strings.ToLower(strings.ReplaceAll(string(code), "_", " "))
}

func familyWords(names map[groundhand.FamilyID]string, id groundhand.FamilyID) string {
	if id == "" {
		return "none: does not go by control family"
	}
	if names[id] == "" {
		return string(id)
	}
	return fmt.Sprintf("%s, %s", id, names[id])
}

// lineWords says how a line reckons its last good day.
func lineWords(l competence.Line) string {
	interval := fmt.Sprintf("%d months", l.Interval.Months)
	if l.Interval.Days > 0 {
		interval = fmt.Sprintf("%d days", l.Interval.Days)
	}
	return fmt.Sprintf("%s; %s", interval, conventionWords[l.LastGoodDay])
}
