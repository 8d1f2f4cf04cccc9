package rollcall

import (
	"strings"

	"groundhand/internal/groundhand"
)

// UnderRulesCaution stands beside every answer about named people under a rule set.
const UnderRulesCaution = "This rests on the practice on record and says nothing of who is at work on a day, of the crew as a whole or of device and kit. " +
	"It replaces neither the job briefing nor the look at the kit and the lower controls. Local rules, the maker's instructions and licensed practice come first. " +
	"It does not say that a law is met."

var notGoodWords = map[NotGood]string{
	BecauseSuspended: "suspended: a failed step or a suspension is open, and a new pass lifts it",
	BecauseGrade:     "the rules bar this apprentice year, or the grade is not known",
	BecauseAbsence:   "held by the absence rule, until a run that somebody watches",
	BecauseOver:      "last good day is over",
	BecauseGrace:     "in the month after the month due",
	BecauseExtended:  "past the last good day, on an extension",
	BecauseOnPaper:   "accepted on paper for a time; nothing was shown here yet",
	BecauseNoCredit:  "what is on record of this method does not count under these rules",
	BecauseNever:     "never practised this method",
	BecauseNotKnown:  "nothing is known of this person in these rules: cannot tell, so not good",
}

// WhyNotGood says in words why a person is not good; empty when good. It tells of no reason for an absence.
func WhyNotGood(p PersonUnderRules) string {
	if p.Good {
		return ""
	}
	l, one := p.Decisive()
	if !one {
		return notGoodWords[p.Because]
	}
	return LineOf(l) + ": " + WhyLineNotGood(l)
}

// WhyLineNotGood says in words why a line is not met; empty when it is.
func WhyLineNotGood(l LineUnderRules) string {
	if l.Good() {
		return ""
	}
	text := notGoodWords[l.Because]
	switch {
	case l.Note != "":
		text += " (" + wordsOr(noteWords, l.Note) + ")"
	case l.LastGoodDay != 0 && l.Because == BecauseOver:
		text = "last good day was " + l.LastGoodDay.Words()
	case l.LastGoodDay != 0:
		text += "; by the evidence alone the last good day is " + l.LastGoodDay.Words()
	}
	return text
}

// LineOf says what a line asks: method, role and control family. What has no parts in it names no role.
func LineOf(l LineUnderRules) string {
	words := []string{MethodWords(string(l.Method))}
	if l.Method != groundhand.FirstAid && l.Method != groundhand.Familiarisation {
		words = append(words, strings.ToLower(string(l.Role)))
	}
	if l.FamilyID != "" {
		words = append(words, string(l.FamilyID))
	}
	return strings.Join(words, ", ")
}
