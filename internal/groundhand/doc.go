// Package groundhand is the vocabulary of the trade: workers, crews, devices, kits, drills, assessments, rule sets, jobs, flags and
// certificates, with days, moments and refusals. It holds columns, never associations, and imports the standard library only.
// Standings and verdicts are not here: they are computed by the packages competence and readiness, never stored.
package groundhand
