// Package runsheet orders the timed runs of one drill session: who leads, who is second, who rescues alone, and who keeps the time, so that
// everybody gets the runs that he needs in as few runs as possible, with a partner whom he has not had before and without long waits. A pair
// run has a lead and a second, a lone run one rescuer; the casualty is a dummy, and the assessor is the instructor and takes no role.
//
// Plan makes a sheet, Check judges one, Decode reads a problem from JSON (drill-sheet-problem/1), and Rounds and Year spread the partners
// over several drills. The package is pure: no clock, no files, chance only from the seed it is given. Check shares no code with Plan.
//
// A sheet proposes an order for practice. It does not say how a rescue is carried out, nor that a law is met: local rules, the maker's
// instructions and the licensed practice of the employer come first.
package runsheet
