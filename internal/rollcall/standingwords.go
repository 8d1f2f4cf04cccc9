package rollcall

import "groundhand/internal/competence"

// StandingWords says in words why a standing is what it is. It tells of no reason for an absence.
func StandingWords(a WorkerStanding) string {
	if a.Note != "" {
		return wordsOr(noteWords, a.Note)
	}
	last := "there is no last good day"
	if a.LastGoodDay != 0 {
		last = "the last good day by the evidence is " + a.LastGoodDay.Words()
	}
	return wordsOr(standingWords, a.Standing) + "; " + last
}

var (
	standingWords = map[competence.Standing]string{
		competence.Current:     "current on what was practised",
		competence.Suspended:   "suspended: a failed step or a suspension is open, and a new pass lifts it",
		competence.Held:        "held after a long absence, until a run that somebody watches",
		competence.InGrace:     "in the month after the month due",
		competence.OnExtension: "past the last good day, on an approved extension",
		competence.OnPaper:     "accepted on paper for a time; nothing was shown here yet",
		competence.Lapsed:      "lapsed: nothing that counts was practised recently enough",
		competence.Never:       "nothing that counts was ever recorded",
	}
	noteWords = map[competence.Note]string{
		competence.NoRuleSet: "no rule set of our own is in force on that day",
		competence.NoLine:    "the rules ask nothing of this method and role",
		competence.NoFamily:  "the rules go by control family, and none was named",
	}
)
