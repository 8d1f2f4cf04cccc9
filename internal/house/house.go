// Package house holds the tests of the tree itself: who may import whom, what the engines may touch, what stands at the top, and how
// packages are named. It has no production code.
package house
