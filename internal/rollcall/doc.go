// Package rollcall is the read side: it loads what is recorded in few queries, hands it to the engines as facts, and gives back their
// answers. It decides nothing itself. Who is current is competence's word, who may go aloft readiness's, and every answer can be given
// away together with the facts it was made from, so that anybody can recompute it.
//
//	roll.go        the Roll and how it is asked
//	rules.go       which rule set judges which day
//	entries.go     records as entries of the standing-facts/1 format
//	dossier.go     the facts of some workers, with those of everybody whose word bears on them
//	standing.go    standings, courses and the export of both
//	crews.go       who is in which crew on a day
//	capability.go  standings over a window as what readiness counts
//	device.go      the device of a job and when it was out of service
//	cover.go       one crew, one job; jobs.go: booked jobs
//	company.go     everybody on one day, streamed
//	lookahead.go   who lapses in the days to come if nobody drills
//	outlook.go     every crew's day and its first bad moment ahead
//	grid.go        every crew, device and kind of job; unlock.go: which one change unlocks most
//	mark.go        what stands beside an entry: late, corrected, disputed; contradict.go: what can hardly have been so
//	twice.go       an answer as known at two moments; bearing.go: what was recorded in between that bears on it
//	preview.go     what proposed rules would do
//	record.go      everything about one worker, for that worker
//	allowance.go   live extensions and acceptances on paper, and the crews that hang on them
//	reanswer.go    booked work after a correction
//	effect.go      what a kit, a device, a person or an entry takes with it
//	problem.go     the rotation problem the records pose; slots.go: what is booked
//	offers.go      slots made of what is really there; offersthere.go: what can be drilled at a yard on a day
//	planchange.go  what if: a yard closed, one more assessor or kit, another rule set
//	planstages.go  a rotation longer than a renewal is good for; planhours.go: its hours against last year's
//	clusters.go    which crews lapse together, before a rotation and after it
//
// A verdict is a reading of records and no procedure; local rules, the maker's instructions and licensed practice come first.
package rollcall
