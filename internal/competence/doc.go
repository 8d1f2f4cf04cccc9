// Package competence answers one question exactly: is this person, for this method, role and control family, current on this day,
// and on what does the answer rest? It is the trade's core and does nothing else. It has no clock, no database and no network: facts
// and a question go in, a standing comes out, so that an auditor who holds an exported file can recompute any answer ever given.
//
// The choice behind every rule is that not knowing is never current. A run on a bare day counts late, a fail on a bare day counts
// early, an unknown grade is barred, a pass without an assessor who was himself entitled and current that day gives nothing.
//
// # How an answer is made
//
// Facts (facts.go) are rule sets, entries and questions; Decode reads them from the standing-facts/1 format and Check names the first
// fault. NewBook indexes the entries by person, once. A question then runs through six steps, one file each:
//
//	known.go       which entries are known at the moment asked as known, and neither withdrawn nor replaced
//	refusal.go     which of the person's evidence counts under the line asked, and the first reason against each entry that does not
//	assessor.go    whether whoever passed somebody was entitled and current that day: the one recursion, always to an earlier day
//	credit.go      the days with enough counting evidence, and through which day the best course of periods from them is good
//	allowance.go   extensions and provisional acceptances; suspension.go: open fails and suspensions; absence.go: long absences
//	standing.go    the word for a day, and what it rests on
//
// A reading (reading.go) is one person's entries judged under one line with what could be seen at one moment. Once made, the word
// for any day is a handful of comparisons, and it can only change on a few days: the day after the last good day, after the grace
// month, the first and the day after the last of an allowance, the first day of a hold. So the day of the next change and the whole
// course (course.go) go from turning day to turning day and cost the same for a week and for a century.
//
// # Three traps
//
// Months are added to the first day of a course, k times N at once, and clipped to the end of a shorter month; adding to the last
// result, or letting 29 February run over into March, gives a day too many. A local day starts and ends by the rules of its zone, not
// at midnight plus 24 hours. And moments count in whole seconds, cut as in the exported file, so that the service and a recomputation
// from its file cannot disagree.
//
// A standing is a reading of records. It says nothing about whether a law is met; local rules, the maker's instructions and licensed
// practice come first.
package competence
