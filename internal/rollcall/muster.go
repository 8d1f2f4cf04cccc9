package rollcall

import (
	"context"
	"math"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/store"
)

// muster says who is in which of some crews over a stretch of time: crews split at noon, people are lent for an afternoon.
type muster struct {
	roll  *Roll
	crews map[groundhand.CrewID]groundhand.Crew
	of    map[groundhand.WorkerID][]groundhand.Membership
	ever  map[groundhand.CrewID][]groundhand.WorkerID // who is in a crew at some time or other
}

func (r *Roll) newMuster(crews []groundhand.Crew, memberships []groundhand.Membership) muster {
	m := muster{r, map[groundhand.CrewID]groundhand.Crew{}, map[groundhand.WorkerID][]groundhand.Membership{}, map[groundhand.CrewID][]groundhand.WorkerID{}}
	for _, c := range crews {
		m.crews[c.ID] = c
	}
	for _, in := range memberships {
		m.of[in.WorkerID] = append(m.of[in.WorkerID], in)
		m.ever[in.CrewID] = append(m.ever[in.CrewID], in.WorkerID)
	}
	return m
}

// stay is a part of a window in which somebody is in one crew; in none when it is empty.
type stay struct {
	crew     groundhand.CrewID
	from, to groundhand.Instant
}

// muster loads some crews with whoever is in them on the days from the first to the last, and some people with their crews.
func (r *Roll) muster(ctx context.Context, crews []groundhand.CrewID, people []groundhand.WorkerID, first, last groundhand.Date) (muster, error) {
	inThem, err := store.FindStanding[groundhand.Membership](ctx, r.store, store.ByCrew, unique(crews))
	if err != nil {
		return muster{}, err
	}
	for _, in := range inThem {
		if in.FromOn <= last && (in.ToOn == 0 || first <= in.ToOn) {
			people = append(people, in.WorkerID) // who may be on loan elsewhere meanwhile
		}
	}
	theirs, err := store.FindStanding[groundhand.Membership](ctx, r.store, store.ByWorker, unique(people))
	if err != nil {
		return muster{}, err
	}
	for _, in := range theirs {
		crews = append(crews, in.CrewID)
	}
	standing, err := store.FindStanding[groundhand.Crew](ctx, r.store, store.ByID, unique(crews))
	return r.newMuster(standing, theirs), err
}

// everybody loads all crews and everybody in them on the days from the first to the last.
func (r *Roll) everybody(ctx context.Context, first, last groundhand.Date) (muster, error) {
	crews, err := store.Standing[groundhand.Crew](ctx, r.store)
	if err != nil {
		return muster{}, err
	}
	memberships, err := r.store.MembershipsOn(ctx, first, last)
	return r.newMuster(crews, memberships), err
}

// crew is a crew by id, or the coded refusal.
func (m muster) crew(id groundhand.CrewID) (groundhand.Crew, error) {
	return lineUp{crews: m.crews}.crew(id)
}

// in lists who is in a crew at some moment of a window, in order of id.
func (m muster) in(crew groundhand.CrewID, from, to groundhand.Instant) []groundhand.WorkerID {
	var out []groundhand.WorkerID
	for _, who := range m.ever[crew] {
		if slices.ContainsFunc(m.stays(who, from, to), func(s stay) bool { return s.crew == crew }) {
			out = append(out, who)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// at is the crew that somebody is in at a moment.
func (m muster) at(who groundhand.WorkerID, at groundhand.Instant) groundhand.CrewID {
	return m.stays(who, at, at+1)[0].crew
}

// elsewhere lists the parts of a window in which a member of a crew is not in it.
func (m muster) elsewhere(who groundhand.WorkerID, crew groundhand.CrewID, from, to groundhand.Instant) []readiness.Absence {
	var out []readiness.Absence
	for _, s := range m.stays(who, from, to) {
		if s.crew != crew {
			out = append(out, readiness.Absence{Interval: readiness.Interval{From: readiness.Edge{At: s.from}, To: s.to}, Why: readiness.WhyPlaced})
		}
	}
	return out
}

// stays cuts a window where somebody changes crew: one place at a time, as over has it.
func (m muster) stays(who groundhand.WorkerID, from, to groundhand.Instant) []stay {
	theirs := m.of[who]
	cuts := []groundhand.Instant{from}
	for _, in := range theirs {
		for _, at := range []groundhand.Instant{m.roll.joins(in), m.roll.leaves(in)} {
			if from < at && at < to {
				cuts = append(cuts, at)
			}
		}
	}
	slices.Sort(cuts)
	cuts = append(slices.Compact(cuts), to)
	var out []stay
	for i, at := range cuts[:len(cuts)-1] {
		crew := m.roll.placeAt(theirs, at)
		if n := len(out); n > 0 && out[n-1].crew == crew {
			out[n-1].to = cuts[i+1]
			continue
		}
		out = append(out, stay{crew, at, cuts[i+1]})
	}
	return out
}

func (r *Roll) placeAt(memberships []groundhand.Membership, at groundhand.Instant) groundhand.CrewID {
	var best groundhand.Membership
	for _, in := range memberships {
		if r.joins(in) <= at && at < r.leaves(in) && (best.ID == "" || over(in, best) > 0) {
			best = in
		}
	}
	return best.CrewID
}

// joins is the moment at which a membership begins.
func (r *Roll) joins(m groundhand.Membership) groundhand.Instant {
	if m.FromAt != 0 {
		return m.FromAt
	}
	return r.start(m.FromOn)
}

// leaves is the first moment at which a membership no longer holds.
func (r *Roll) leaves(m groundhand.Membership) groundhand.Instant {
	switch {
	case m.ToAt != 0:
		return m.ToAt
	case m.ToOn == 0:
		return math.MaxInt64
	}
	return r.start(m.ToOn + 1)
}
