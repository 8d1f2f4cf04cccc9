package access

import (
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// MayAbout is nil when the account may do the act about a worker on a day: about itself, about the people of a crew that it is
// foreman of on that day, or about everybody, as the table says.
func MayAbout(ctx context.Context, s *store.Store, by groundhand.Account, act Act, about groundhand.WorkerID, on groundhand.Date) error {
	if err := May(by, act); err != nil {
		return err
	}
	reach := ReachOf(by, act)
	if reach == Everybody || about == by.WorkerID {
		return nil
	}
	if reach == OwnCrew {
		led, err := led(ctx, s, by, on)
		if err != nil {
			return err
		}
		if slices.ContainsFunc(led, func(m groundhand.Membership) bool { return m.WorkerID == about }) {
			return nil
		}
	}
	return tooFar(by, act)
}

// MayCrew is nil when the account may do the act about a crew on a day.
func MayCrew(ctx context.Context, s *store.Store, by groundhand.Account, act Act, crew groundhand.CrewID, on groundhand.Date) error {
	if err := May(by, act); err != nil {
		return err
	}
	switch ReachOf(by, act) {
	case Everybody:
		return nil
	case OwnCrew:
		led, err := led(ctx, s, by, on)
		if err != nil {
			return err
		}
		if slices.ContainsFunc(led, func(m groundhand.Membership) bool { return m.CrewID == crew }) {
			return nil
		}
	}
	return tooFar(by, act)
}

// led gives the memberships of the crews that the account's worker is foreman of on a day.
func led(ctx context.Context, s *store.Store, by groundhand.Account, on groundhand.Date) ([]groundhand.Membership, error) {
	all, err := s.MembershipsOn(ctx, on, on)
	if err != nil {
		return nil, err
	}
	crews := map[groundhand.CrewID]bool{}
	for _, m := range all {
		if m.WorkerID == by.WorkerID && m.Part == groundhand.Foreman {
			crews[m.CrewID] = true
		}
	}
	return slices.DeleteFunc(all, func(m groundhand.Membership) bool { return !crews[m.CrewID] }), nil
}

func tooFar(by groundhand.Account, act Act) error {
	return groundhand.Forbidden("The capacity %s may %s only as far as its own record or crew goes.", by.Capacity, act)
}
