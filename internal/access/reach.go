package access

import (
	"context"
	"maps"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Circle is whom an account stands close to on a day: itself and, for a foreman, the crews led and the people in them. It is read
// once and then asked about many.
type Circle struct {
	by      groundhand.Account
	workers map[groundhand.WorkerID]bool
	crews   map[groundhand.CrewID]bool
}

// CircleOf reads the circle of an account. Only that of a foreman has to be looked up.
func CircleOf(ctx context.Context, s *store.Store, by groundhand.Account, on groundhand.Date) (Circle, error) {
	c := Circle{by: by, workers: map[groundhand.WorkerID]bool{}, crews: map[groundhand.CrewID]bool{}}
	if by.Capacity != foreman || by.WorkerID == "" {
		return c, nil
	}
	all, err := s.MembershipsOn(ctx, on, on)
	for _, m := range all {
		if m.WorkerID == by.WorkerID && m.Part == groundhand.Foreman {
			c.crews[m.CrewID] = true
		}
	}
	for _, m := range all {
		if c.crews[m.CrewID] {
			c.workers[m.WorkerID] = true
		}
	}
	return c, err
}

// Crews are the crews that the account leads, in order of id; only a foreman has any.
func (c Circle) Crews() []groundhand.CrewID { return slices.Sorted(maps.Keys(c.crews)) }

// MayAbout is nil when the account may do the act about a worker: about itself, about the people of a crew that it is foreman of, or
// about everybody, as the table says.
func (c Circle) MayAbout(act Act, about groundhand.WorkerID) error {
	if err := May(c.by, act); err != nil {
		return err
	}
	reach := ReachOf(c.by, act)
	if reach == Everybody || about == c.by.WorkerID || reach == OwnCrew && c.workers[about] {
		return nil
	}
	return c.tooFar(act)
}

// MayCrew is nil when the account may do the act about a crew.
func (c Circle) MayCrew(act Act, crew groundhand.CrewID) error {
	if err := May(c.by, act); err != nil {
		return err
	}
	reach := ReachOf(c.by, act)
	if reach == Everybody || reach == OwnCrew && c.crews[crew] {
		return nil
	}
	return c.tooFar(act)
}

// MayAbout is Circle.MayAbout for one question about a day.
func MayAbout(ctx context.Context, s *store.Store, by groundhand.Account, act Act, about groundhand.WorkerID, on groundhand.Date) error {
	if err := May(by, act); err != nil {
		return err
	}
	c, err := CircleOf(ctx, s, by, on)
	if err != nil {
		return err
	}
	return c.MayAbout(act, about)
}

// MayCrew is Circle.MayCrew for one question about a day.
func MayCrew(ctx context.Context, s *store.Store, by groundhand.Account, act Act, crew groundhand.CrewID, on groundhand.Date) error {
	if err := May(by, act); err != nil {
		return err
	}
	c, err := CircleOf(ctx, s, by, on)
	if err != nil {
		return err
	}
	return c.MayCrew(act, crew)
}

func (c Circle) tooFar(act Act) error {
	return groundhand.Forbidden("The capacity %s may %s only as far as its own record or crew goes.", c.by.Capacity, act)
}
