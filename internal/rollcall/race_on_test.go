//go:build race

package rollcall_test

// underRace says that the race detector watches, which makes the databases of the tests ten times slower.
const underRace = true
