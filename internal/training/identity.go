package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// NumberForm says by which number a person is known over a time. Another person may have the number before or after, never at once.
type NumberForm struct {
	Entry
	WorkerID groundhand.WorkerID
	Number   string
	FromOn   groundhand.Date
	ToOn     groundhand.Date // last day; empty: still
}

// NumberWorker enters a number of a person.
func (d *Desk) NumberWorker(ctx context.Context, by groundhand.Account, key string, f NumberForm) (groundhand.WorkerNumber, error) {
	return once(ctx, d, by, key, act{name: "numberWorker", may: access.ManageWorkers}, f, one[groundhand.WorkerNumber])
}

func (f NumberForm) check(c *fields) {
	f.Entry.check(c)
	c.id("workerId", string(f.WorkerID))
	c.name("number", f.Number)
	c.stretch("fromOn", "toOn", f.FromOn, f.ToOn)
}

func (f NumberForm) enter(in *entering) groundhand.WorkerNumber {
	correct[groundhand.WorkerNumber](in, "number", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID))
	n := groundhand.WorkerNumber{ID: entryID(in), Recorded: in.told(f.Entry, When{On: f.FromOn}), WorkerID: f.WorkerID, Number: f.Number, FromOn: f.FromOn, ToOn: f.ToOn}
	in.numberNotHeld(n)
	add(in, n)
	result(in, n.ID)
	return n
}

// numberNotHeld refuses a number that somebody else has on one of its days.
func (in *entering) numberNotHeld(n groundhand.WorkerNumber) {
	same, err := store.FindStanding[groundhand.WorkerNumber](in.ctx, in.tx, store.ByNumber, []string{n.Number})
	in.failed(err)
	for _, other := range same {
		if other.ID != n.ReplacesID && in.tx.Kept(other.WorkerID) != in.tx.Kept(n.WorkerID) && meet(n.FromOn, n.ToOn, other.FromOn, other.ToOn) {
			in.Add(groundhand.CodeConflict, "number", "The worker %s has the number %s from %s to %s.", string(other.WorkerID), quoted(n.Number), other.FromOn, orOpen(other.ToOn))
		}
	}
	first, err := store.FindStanding[groundhand.Worker](in.ctx, in.tx, store.ByNumber, []string{n.Number})
	in.failed(err)
	for _, w := range first {
		if w.ID != in.tx.Kept(n.WorkerID) && in.employedBetween(w.ID, n.FromOn, n.ToOn) {
			in.Add(groundhand.CodeConflict, "number", "The worker %s came with the number %s and is here in these days.", string(w.ID), quoted(n.Number))
		}
	}
}

// employedBetween says whether somebody is here on one of some days. Nobody knows of somebody without an employment, so yes.
func (in *entering) employedBetween(w groundhand.WorkerID, from, to groundhand.Date) bool {
	all, err := store.FindStanding[groundhand.Employment](in.ctx, in.tx, store.ByWorker, []groundhand.WorkerID{w})
	in.failed(err)
	for _, e := range all {
		if meet(from, to, e.FromOn, e.ToOn) {
			return true
		}
	}
	return len(all) == 0
}

// meet says whether two stretches of days share one; no last day is an open end.
func meet(from, to, otherFrom, otherTo groundhand.Date) bool {
	return (to == 0 || otherFrom <= to) && (otherTo == 0 || from <= otherTo)
}

// AliasForm is another name by which a person is known over a time.
type AliasForm struct {
	Entry
	WorkerID groundhand.WorkerID
	Name     string
	FromOn   groundhand.Date
	ToOn     groundhand.Date // last day; empty: still
}

// AddAlias enters another name of a person.
func (d *Desk) AddAlias(ctx context.Context, by groundhand.Account, key string, f AliasForm) (groundhand.Alias, error) {
	return once(ctx, d, by, key, act{name: "addAlias", may: access.ManageWorkers}, f, one[groundhand.Alias])
}

func (f AliasForm) check(c *fields) {
	f.Entry.check(c)
	c.id("workerId", string(f.WorkerID))
	c.name("name", f.Name)
	c.stretch("fromOn", "toOn", f.FromOn, f.ToOn)
}

func (f AliasForm) enter(in *entering) groundhand.Alias {
	correct[groundhand.Alias](in, "alias", f.Entry)
	known[groundhand.Worker](in, "worker", at("workerId", f.WorkerID))
	a := groundhand.Alias{ID: entryID(in), Recorded: in.told(f.Entry, When{On: f.FromOn}), WorkerID: f.WorkerID, Name: f.Name, FromOn: f.FromOn, ToOn: f.ToOn}
	add(in, a)
	result(in, a.ID)
	return a
}

// MergeForm says that two workers are one person.
type MergeForm struct {
	Entry
	KeptID groundhand.WorkerID // under whom the person is found from now on
	GoneID groundhand.WorkerID
	Reason string
}

// Merge enters that two workers are one person. Nothing is rewritten, so withdrawing the merge gives back both exactly as they were.
// Refused are two who were in two crews at one moment, because nobody is.
func (d *Desk) Merge(ctx context.Context, by groundhand.Account, key string, f MergeForm) (groundhand.Merge, error) {
	return once(ctx, d, by, key, act{name: "merge", may: access.MergeWorkers}, f, one[groundhand.Merge])
}

func (f MergeForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	c.id("keptId", string(f.KeptID))
	c.id("goneId", string(f.GoneID))
	if f.KeptID != "" && f.KeptID == f.GoneID {
		c.wrong("goneId", "These are one and the same; name two workers.")
	}
	c.needed("reason", f.Reason)
}

func (f MergeForm) enter(in *entering) groundhand.Merge {
	known[groundhand.Worker](in, "worker", at("keptId", f.KeptID), at("goneId", f.GoneID))
	if f.KeptID != f.GoneID {
		in.mayBeOne(f)
	}
	m := groundhand.Merge{ID: entryID(in), Recorded: in.told(f.Entry, When{At: in.now}), KeptID: f.KeptID, GoneID: f.GoneID, Reason: f.Reason}
	add(in, m)
	result(in, m.ID)
	return m
}

// mayBeOne refuses to merge who is merged already. Of a person only the id that is kept can be merged, which also keeps out rings.
func (in *entering) mayBeOne(f MergeForm) {
	kept, gone := in.tx.Kept(f.KeptID), in.tx.Kept(f.GoneID)
	switch {
	case kept == gone:
		in.Add(groundhand.CodeConflict, "goneId", "These two are one person already, found as %s.", string(kept))
		return
	case kept != f.KeptID:
		in.Add(groundhand.CodeConflict, "keptId", "This worker went up in %s; name that one.", string(kept))
	case gone != f.GoneID:
		in.Add(groundhand.CodeConflict, "goneId", "This worker went up in %s; name that one.", string(gone))
	}
	for _, mine := range in.memberships(kept) {
		for _, theirs := range in.memberships(gone) {
			if mine.CrewID != theirs.CrewID && in.overlap(mine, theirs) {
				in.Add(groundhand.CodeConflict, "goneId", "The worker %s was in crew %s (%s to %s) while the worker %s was in crew %s (%s to %s); these are two people.",
					string(kept), mine.CrewID, mine.FromOn, orOpen(mine.ToOn), string(gone), theirs.CrewID, theirs.FromOn, orOpen(theirs.ToOn))
				return
			}
		}
	}
}

func (in *entering) memberships(w groundhand.WorkerID) []groundhand.Membership {
	all, err := store.FindStanding[groundhand.Membership](in.ctx, in.tx, store.ByWorker, []groundhand.WorkerID{w})
	in.failed(err)
	return all
}
