package rollcall

import (
	"fmt"

	"groundhand/internal/rotation"
)

// RotationCaution stands beside every plan of drills and every run sheet, wherever a person reads it.
const RotationCaution = "This proposes days and orders for practice from what was recorded when it was asked for. Look at it again before you adopt it and before each session: " +
	"people, kits and trucks change. Who leads a session decides on the spot whether and how it is held. Local rules, the maker's instructions and licensed " +
	"practice come first. It does not say that a law is met."

var levelWords = map[string]string{
	"crew_days_short":    "days on which a crew goes out short of current rescuers",
	"lapsed_days":        "working days on which somebody is not current",
	"session_cost":       "sessions held, each at its cost",
	"minutes_away":       "minutes away from work, with travel and the visit of each crew",
	"days_off_aim":       "days between the renewals and the days aimed at",
	"busiest_instructor": "sessions led by the assessor who leads most",
}

// LevelWords says what a figure of a plan counts, by its name in rotation.LevelNames.
func LevelWords(level string) string { return levelWords[level] }

// FigureWords says a figure of a plan and how far it is known to be the least. Proved says that the figures before it are the least too.
func FigureWords(level string, figure, bound int, proved bool) string {
	said := fmt.Sprintf("%d %s", figure, LevelWords(level))
	switch {
	case proved:
		return said + "; no plan has fewer"
	case bound >= figure:
		return said + "; no plan has fewer that is as good in what counts before"
	}
	return said + fmt.Sprintf("; no plan is known with fewer, and none has fewer than %d", bound)
}

var ruleWords = map[string]string{
	"":                   "nothing stands against it",
	"F1":                 "the session cannot be held",
	"F2":                 "not known, or there already",
	"F3":                 "nobody is judged by themselves",
	"F4":                 "not free that day, or the yard is out of reach",
	"F5":                 "not offered there for this control family, or not due",
	"F6":                 "renewed already",
	"F7":                 "nobody would be left in the other session who renews anything",
	"F8":                 "a crew mate would be left who goes along with nobody",
	"F9":                 "no place is left",
	"F10":                "more timed runs than there is time for",
	"F11":                "nobody would be there to make up the pair",
	"F12":                "somebody, or the truck, is elsewhere at the time",
	"F13":                "it was promised as it is",
	"F14":                "those of a crew who stay behind would not cover",
	"F15":                "the figures are not those claimed",
	rotation.StaggerRule: "too many of the crew would renew close together",
}

// RuleWords says what stands against another slot: a hard rule, the name of a figure that gets worse, or nothing.
func RuleWords(rule string) string {
	if words, is := ruleWords[rule]; is {
		return words
	}
	return "it would mean more " + LevelWords(rule)
}

var reasonWords = map[rotation.Reason]string{
	rotation.NoOffer:            "no session offers it on this control family",
	rotation.OnlySelfAssessed:   "only in sessions that they would lead themselves",
	rotation.NeverFree:          "not free on any of the days, or out of reach of the yards",
	rotation.OnlyTooEarly:       "all sessions come before a renewal is of use",
	rotation.FirstChanceTooLate: "the first session comes too late",
	rotation.CrowdedOut:         "an earlier session was possible and something stood in the way",
}

// ReasonWords says why somebody is not kept current.
func ReasonWords(r rotation.Reason) string { return reasonWords[r] }

var asideWords = map[rotation.AsideReason]string{
	rotation.Past:           "before the first day",
	rotation.AfterWindow:    "after the last day",
	rotation.Weekend:        "nobody works that weekday",
	rotation.Holiday:        "a holiday",
	rotation.InstructorAway: "the assessor is not free",
}

// AsideWords says why an offered session cannot be held.
func AsideWords(r rotation.AsideReason) string { return asideWords[r] }

var leftOutWords = map[LeftOutReason]string{
	SlotForbidden:      "it was asked to be left out",
	SlotYardMissing:    "it names no yard",
	SlotYardClosed:     "the yard is closed",
	SlotNoAuthority:    "nobody with authority leads it",
	SlotDeviceOut:      "the device is out of service that day",
	SlotKitOut:         "the kit is out of service that day",
	SlotNothingPlanned: "none of its methods is planned",
}

// LeftOutWords says why a booked session is no part of a rotation.
func LeftOutWords(r LeftOutReason) string { return leftOutWords[r] }

var sheetWords = map[string]string{
	"runs":              "timed runs",
	"repeat_pairs":      "runs of two who were together already",
	"pair_cost":         "times that those who go together did so before, with two more for each run of two crews",
	"back_to_back":      "times that somebody leads or is alone in two runs that follow each other",
	"wait_squares":      "for waiting, the squares of the runs that pass between two of one person",
	"timekeeper_spread": "turns at keeping the time between who has most and who has fewest",
}

// SheetWords says a figure of a run sheet, by its name in runsheet.LevelNames.
func SheetWords(level string, figure int, proved bool) string {
	said := fmt.Sprintf("%d %s", figure, sheetWords[level])
	if proved {
		return said + "; no order has fewer"
	}
	return said
}

// ChoiceWords says where a practice is renewed, or why it is not.
func ChoiceWords(c rotation.Choice) string {
	switch {
	case c.Slot != "" && c.DaysLapsed == 0:
		return "renewed on " + c.On.String() + ", and current on every working day"
	case c.Slot != "":
		return fmt.Sprintf("renewed on %s, after %d working days on which it is not current", c.On, c.DaysLapsed)
	case c.Reason != "":
		return "not renewed: " + ReasonWords(c.Reason)
	}
	return "not renewed"
}

// OtherWords says what stands against another session, or what would change.
func OtherWords(a rotation.Alternative) string {
	switch {
	case a.Rule != "":
		return "not possible: " + RuleWords(a.Rule)
	case len(a.Changes) == 0:
		return "possible, and as good"
	}
	said := "possible: "
	for i, c := range a.Changes {
		if i > 0 {
			said += "; "
		}
		said += fmt.Sprintf("%+d %s", c.By, LevelWords(c.Level))
	}
	return said
}

// DifferenceWords says how a figure differs between two plans.
func DifferenceWords(level string, before, after int) string {
	if before == after {
		return fmt.Sprintf("%d %s, as before", after, LevelWords(level))
	}
	return fmt.Sprintf("%d %s instead of %d", after, LevelWords(level), before)
}

// DrillDayWords says how a crew stands on a half day with a drill.
func DrillDayWords(d rotation.DrillDay) string {
	said := "sends nobody"
	if d.Away > 0 {
		said = fmt.Sprintf("sends %d of %d at work", d.Away, d.AtWork)
	}
	switch {
	case d.Short:
		return said + "; below cover whether anybody drills or not"
	case d.StandsDown:
		return said + "; nobody is left to be sent out"
	case d.Below:
		return said + "; below cover because of the drill"
	}
	return said + "; those who stay behind cover, by what is planned"
}
