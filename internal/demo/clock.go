package demo

import (
	"fmt"
	"sync"
	"time"
)

// Clock is turned on by the play from one act to the next. Afterwards it stands still or follows another clock.
type Clock struct {
	mu    sync.Mutex
	shows time.Time
	since time.Time        // what the followed clock showed when it was first followed
	lead  func() time.Time // the followed clock; nil: this one stands still
}

// NewClock gives a clock that stands still at a moment.
func NewClock(at time.Time) *Clock { return &Clock{shows: at} }

// Now is what the clock shows.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.lead == nil {
		return c.shows
	}
	return c.shows.Add(c.lead().Sub(c.since))
}

// Follow lets the clock run on from where it stands, at the pace of another one.
func (c *Clock) Follow(lead func() time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.since, c.lead = lead(), lead
}

func (c *Clock) turnTo(at time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.shows = at
}

// IDs makes identifiers that count, so that the same play makes the same ones: E000001, E000002, …
type IDs struct {
	mu   sync.Mutex
	n    int
	name string
}

// New makes the next identifier.
func (i *IDs) New() string {
	i.mu.Lock()
	defer i.mu.Unlock()
	if name := i.name; name != "" {
		i.name = ""
		return name
	}
	i.n++
	return fmt.Sprintf("E%06d", i.n)
}

// call gives a name to what is made next.
func (i *IDs) call(name string) {
	i.mu.Lock()
	defer i.mu.Unlock()
	i.name = name
}
