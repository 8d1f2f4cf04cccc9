// Package readiness answers the question of every morning: may this crew be sent, who may go aloft and who must stay down, until when,
// and on whom does it hang. It is a pure function of a Question: no clock, no database, no globals.
//
// Judge gives the Answer. The people who would be aloft are taken away first, for every permitted choice of them, and the rest must be
// able to bring them down and begin first aid. Everything unknown is filled in both ways (a reading); what differs between readings is
// CANNOT_TELL, so that not knowing is never ready. Reasons are data: codes with the things and numbers they name.
//
// Below the target of its pool the answer lists the smallest sets of changes that reach it, in the order of what they disturb.
//
// A verdict is no procedure and never says that a law is met; it defers to local rules, the maker's instructions and licensed practice.
//
// Where to look: question.go, rules.go and answer.go are the shapes of the two files, form.go and decode.go their reading, check.go and
// size.go what is refused. judge.go makes a question ready and puts the answer together; span.go has the moments, people.go who counts,
// need.go device and kit, rescue.go and firstaid.go the lines, reading.go and choice.go the classes, timeline.go the course of the
// window, absence.go the loss of any one person; team.go, condition.go, finding.go and decides.go the reasons, code.go their names.
//
// Of fixes: pool.go and fix.go are the shapes, decode_pool.go and check_pool.go the reading. candidate.go says what can be used and
// lender.go what it does to the crew that lends; fixes.go asks for the list and judges each one afresh. The search is exact: search.go
// goes through the sets by size, stage.go has what they are tried on, strand.go tries them, and tour.go goes through their moments;
// view.go proves what a target is made of, column.go reduces people to what a view sees, outcome.go keeps what comes out.
package readiness
