package web

import (
	"hash/maphash"
	"sync"
	"time"

	"github.com/go-chi/httprate"
)

// Size of a tally: however many addresses ask, it stays 256 KiB.
const (
	tallyRows    = 4
	tallyColumns = 1 << 13
)

type counts [tallyRows][tallyColumns]uint32

// tally counts requests by address in bounded memory (a count-min sketch: Cormode, Muthukrishnan 2005). An address has a place in each
// row and counts as the least of them, so strangers that share a place can make it seem more, never less. The seed is chance, so nobody
// can pick addresses that share all places with another's.
type tally struct {
	mu          sync.Mutex
	seed        maphash.Seed
	length      time.Duration
	latest      time.Time
	now, before counts
}

var _ httprate.LimitCounter = (*tally)(nil)

func newTally() *tally { return &tally{seed: maphash.MakeSeed()} }

// Config is told the length of a window.
func (t *tally) Config(_ int, length time.Duration) { t.length = length }

// Increment counts one.
func (t *tally) Increment(key string, current time.Time) error {
	return t.IncrementBy(key, current, 1)
}

// IncrementBy counts several.
func (t *tally) IncrementBy(key string, current time.Time, amount int) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.move(current)
	for row, column := range t.places(key) {
		t.now[row][column] += uint32(amount)
	}
	return nil
}

// Get is what was counted in this window and in the one before.
func (t *tally) Get(key string, current, _ time.Time) (int, int, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.move(current)
	places := t.places(key)
	return t.now.least(places), t.before.least(places), nil
}

func (c *counts) least(places [tallyRows]uint64) int {
	least := c[0][places[0]]
	for row, column := range places {
		least = min(least, c[row][column])
	}
	return int(least)
}

func (t *tally) places(key string) (places [tallyRows]uint64) {
	sum := maphash.String(t.seed, key)
	for row := range places {
		places[row] = sum >> (16 * row) % tallyColumns
	}
	return places
}

// move begins a new window when it is time; after a longer silence nothing is left of the one before.
func (t *tally) move(current time.Time) {
	if t.latest.Equal(current) {
		return
	}
	t.before = counts{}
	if current.Sub(t.latest) == t.length {
		t.before = t.now
	}
	t.now, t.latest = counts{}, current
}
