//go:build !race

package training

const underRace = false
