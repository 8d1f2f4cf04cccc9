//go:build !race

package store_test

const underRace = false
