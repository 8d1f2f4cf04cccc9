//go:build !race

package rollcall_test

const underRace = false
