//go:build !race

package demo_test

const underRace = false
