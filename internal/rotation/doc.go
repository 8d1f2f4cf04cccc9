// Package rotation plans drill rotations: which of the offered drill sessions to hold over the coming weeks and who goes to which, so
// that nobody works with a lapsed ticket and no crew goes out short of rescuers. A ticket is one worker's practice qualification with
// its last valid day, a slot an offered session, a session a slot that the plan holds; to renew is to take part in the right role, and a
// companion goes along with a crew mate without renewing.
//
// Suggest makes a plan, Check judges one and Decode reads a problem from JSON (drill-plan-problem/1). The package is pure: no clock, no
// files, chance only from the seed it is given. Check shares no code with the planner.
//
// A plan proposes dates for practice. It does not say that a law is met: local rules, the maker's instructions and the licensed
// practice of the employer come first.
package rotation
