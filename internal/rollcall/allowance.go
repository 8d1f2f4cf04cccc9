package rollcall

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/store"
)

// LiveExtension is an extension that stands on a day.
type LiveExtension struct {
	groundhand.Extension
	CrewID groundhand.CrewID // of the worker on that day; empty: none
	Number int               // how many standing extensions this person has had in this method, this one included
}

// LiveProvisional is an acceptance on paper that stands on a day.
type LiveProvisional struct {
	groundhand.Provisional
	CrewID   groundhand.CrewID
	Number   int
	Evidence *groundhand.OutsideEvidence // that it rests on; nil: none is named
}

// Extensions lists the extensions that stand on a day, those that end first in front.
func (r *Roll) Extensions(ctx context.Context, on groundhand.Date) (out []LiveExtension, err error) {
	err = r.asOfNow(ctx, func(seen *Roll) error {
		all, err := store.Standing[groundhand.Extension](ctx, seen.store)
		if err != nil {
			return err
		}
		l, err := seen.lineUp(ctx, on)
		if err != nil {
			return err
		}
		numbers := numbered(all, func(x groundhand.Extension) allowed { return allowed{x.WorkerID, x.Method, x.FromOn} })
		for i, x := range all {
			if x.FromOn <= on && on <= x.ToOn {
				out = append(out, LiveExtension{x, l.of[x.WorkerID], numbers[i]})
			}
		}
		return nil
	})
	slices.SortStableFunc(out, func(a, b LiveExtension) int {
		return cmp.Or(cmp.Compare(a.ToOn, b.ToOn), cmp.Compare(a.WorkerID, b.WorkerID), cmp.Compare(a.ID, b.ID))
	})
	return out, err
}

// Provisionals lists the acceptances on paper that stand on a day, those that end first in front.
func (r *Roll) Provisionals(ctx context.Context, on groundhand.Date) (out []LiveProvisional, err error) {
	err = r.asOfNow(ctx, func(seen *Roll) error {
		all, err := store.Standing[groundhand.Provisional](ctx, seen.store)
		if err != nil {
			return err
		}
		l, err := seen.lineUp(ctx, on)
		if err != nil {
			return err
		}
		numbers := numbered(all, func(x groundhand.Provisional) allowed { return allowed{x.WorkerID, x.Method, x.FromOn} })
		for i, x := range all {
			if x.FromOn <= on && on <= x.ToOn {
				out = append(out, LiveProvisional{Provisional: x, CrewID: l.of[x.WorkerID], Number: numbers[i]})
			}
		}
		return seen.addEvidence(ctx, out)
	})
	slices.SortStableFunc(out, func(a, b LiveProvisional) int {
		return cmp.Or(cmp.Compare(a.ToOn, b.ToOn), cmp.Compare(a.WorkerID, b.WorkerID), cmp.Compare(a.ID, b.ID))
	})
	return out, err
}

func (r *Roll) addEvidence(ctx context.Context, list []LiveProvisional) error {
	found, err := store.Find[groundhand.OutsideEvidence](ctx, r.store, store.ByID, idsOf(list, func(x LiveProvisional) groundhand.EntryID { return x.EvidenceID }))
	for i := range list {
		for j := range found {
			if found[j].ID == list[i].EvidenceID {
				list[i].Evidence = &found[j]
			}
		}
	}
	return err
}

// allowed is what allowances are counted by, and from when one holds.
type allowed struct {
	worker groundhand.WorkerID
	method groundhand.Method
	from   groundhand.Date
}

// numbered counts the allowances of each person in each method in the order in which they begin; of two that begin together the one told
// first, as the list has them, counts first.
func numbered[T any](list []T, of func(T) allowed) []int {
	order := make([]int, len(list))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(of(list[a]).from, of(list[b]).from) })
	count, out := map[allowed]int{}, make([]int, len(list))
	for _, i := range order {
		who := of(list[i])
		who.from = 0
		count[who]++
		out[i] = count[who]
	}
	return out
}

// LeaningCrew is a crew whose verdict on a day needs somebody's extension or acceptance on paper.
type LeaningCrew struct {
	Crew     groundhand.Crew
	Verdict  readiness.Verdict
	Families []LeaningFamily
}

// LeaningFamily is one control family of such a crew.
type LeaningFamily struct {
	FamilyID groundhand.FamilyID
	Verdict  readiness.Verdict
	Leans    []Lean
}

// LeaningCrews lists the crews that can be sent on a day and whose verdict would be worse without an extension or an acceptance on paper, in
// order of id.
func (r *Roll) LeaningCrews(ctx context.Context, on groundhand.Date) ([]LeaningCrew, error) {
	crews, err := r.Outlook(ctx, on, fewestDays)
	if err != nil {
		return nil, err
	}
	var out []LeaningCrew
	for _, c := range crews {
		leaning := LeaningCrew{Crew: c.Crew, Verdict: c.Verdict()}
		for _, f := range c.Families {
			if len(f.Leans) > 0 {
				leaning.Families = append(leaning.Families, LeaningFamily{f.FamilyID, f.Verdict, f.Leans})
			}
		}
		if len(leaning.Families) > 0 {
			out = append(out, leaning)
		}
	}
	slices.SortFunc(out, func(a, b LeaningCrew) int { return cmp.Compare(a.Crew.ID, b.Crew.ID) })
	return out, nil
}
