package readiness

import (
	"cmp"
	"math"
	"slices"

	"groundhand/internal/groundhand"
)

// span is half open. Instants outside the window are all alike, so an open end is simply very far away.
type span struct{ from, to groundhand.Instant }

const (
	longAgo groundhand.Instant = math.MinInt64
	never   groundhand.Instant = math.MaxInt64
)

func (s span) holds(t groundhand.Instant) bool { return s.from <= t && t < s.to }

func (s span) overlaps(w Window) bool { return s.from < s.to && s.from < w.To && w.From < s.to }

func anyHolds(spans []span, t groundhand.Instant) bool {
	for _, s := range spans {
		if s.holds(t) {
			return true
		}
	}
	return false
}

// calendar turns the days of a question into instants and gathers the boundaries inside the window on the way.
type calendar struct {
	window      Window
	first, last groundhand.Date
	starts      map[groundhand.Date]groundhand.Instant
	boundaries  []boundary
}

// boundary is an instant at which something begins or ends.
type boundary struct {
	at groundhand.Instant
	Change
}

// newCalendar leaves a day of room behind the window, because a clock set back over midnight shows the same day twice.
func newCalendar(w Window) *calendar {
	return &calendar{
		window: w,
		first:  groundhand.DateOf(w.From.In(w.Zone)),
		last:   groundhand.DateOf(w.To.In(w.Zone)).AddDays(1),
		starts: map[groundhand.Date]groundhand.Instant{},
	}
}

// start is the first instant of a day. Days before and after the window need no exact instant, only the right side of it.
func (c *calendar) start(d groundhand.Date) groundhand.Instant {
	switch {
	case d <= c.first:
		return longAgo
	case d > c.last:
		return never
	}
	at, known := c.starts[d]
	if !known {
		at = groundhand.InstantOf(d.Start(c.window.Zone))
		c.starts[d] = at
	}
	return at
}

func (c *calendar) edge(e Edge) groundhand.Instant {
	switch {
	case e.Day != 0:
		return c.start(e.Day)
	case e.At != 0:
		return e.At
	}
	return longAgo
}

// through is the end of a day: good through it means good until 24:00 local.
func (c *calendar) through(d groundhand.Date) groundhand.Instant { return c.start(d.AddDays(1)) }

func (c *calendar) days(from Edge, through groundhand.Date, of Of, id string) span {
	return c.note(span{c.edge(from), c.through(through)}, of, id)
}

func (c *calendar) interval(i Interval, of Of, id string) span {
	to := i.To
	if to == 0 {
		to = never
	}
	return c.note(span{c.edge(i.From), to}, of, id)
}

func (c *calendar) intervals(list []Interval, of Of, id string) []span {
	spans := make([]span, len(list))
	for i, x := range list {
		spans[i] = c.interval(x, of, id)
	}
	return spans
}

// due is the span in which something with a last good day is good; no day given is not known, and the caller asks for that first.
func (c *calendar) due(d groundhand.Date, of Of, id string) span {
	return c.note(span{longAgo, c.through(d)}, of, id)
}

func (c *calendar) note(s span, of Of, id string) span {
	c.bound(s.from, Change{EdgeStart, of, id})
	c.bound(s.to, Change{EdgeEnd, of, id})
	return s
}

func (c *calendar) bound(at groundhand.Instant, change Change) {
	if c.window.From < at && at < c.window.To {
		c.boundaries = append(c.boundaries, boundary{at, change})
	}
}

// breakpoints are the instants at which moments begin, the beginning of the window first.
func (c *calendar) breakpoints() []groundhand.Instant {
	points := []groundhand.Instant{c.window.From}
	for _, b := range c.boundaries {
		points = append(points, b.at)
	}
	slices.Sort(points)
	return slices.Compact(points)
}

// changesAt lists what begins or ends at an instant, in a fixed order.
func (c *calendar) changesAt(t groundhand.Instant) []Change {
	changes := []Change{}
	for _, b := range c.boundaries {
		if b.at == t {
			changes = append(changes, b.Change)
		}
	}
	slices.SortFunc(changes, func(a, b Change) int {
		return cmp.Or(cmp.Compare(a.Of, b.Of), cmp.Compare(a.ID, b.ID), cmp.Compare(a.Edge, b.Edge))
	})
	return slices.Compact(changes)
}
