// Package rulebook reads rule sets: the employer's or a client's dated, approved rules as data. A rule set says how long practice is good
// for and what counts as practice (lines), what is asked of a member of a crew (asks), who counts below at a job (cover) and how long a
// look at a kit or device is good for (inspections). Five sets of the invented company are shipped as examples.
//
// No rule set says that a law is met. Twelve months is the employer's rule, informed by 29 CFR 1910.269(a)(2), which asks for training and
// names no interval for rescue practice; local rules, the maker's instructions and the licensed practice of the employer come first.
package rulebook
