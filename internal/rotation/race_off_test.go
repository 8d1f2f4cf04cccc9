//go:build !race

package rotation

const underRace = false
