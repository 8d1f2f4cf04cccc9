package training

import (
	"errors"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// ref is an id in a field of a form.
type ref struct{ field, id string }

func at[K ~string](field string, id K) ref { return ref{field, string(id)} }

func refs(field string, ids groundhand.List) []ref {
	out := make([]ref, len(ids))
	for i, id := range ids {
		out[i] = ref{index(field, i), id}
	}
	return out
}

// known refuses ids that nobody has, or whose record no longer stands. Empty and malformed ids are the business of the field checks.
func known[T any](in *entering, what string, asked ...ref) {
	ids := map[string]bool{}
	var keys []string
	for _, r := range asked {
		if wellFormed(r.id) && !ids[r.id] {
			ids[r.id] = true
			keys = append(keys, r.id)
		}
	}
	found, err := store.FindStanding[T](in.ctx, in.tx, store.ByID, keys)
	if in.failed(err) || len(found) == len(keys) {
		return
	}
	for _, r := range asked {
		if ids[r.id] {
			known1[T](in, what, r)
		}
	}
}

// known1 looks at one id, once it is clear that one of several is not good.
func known1[T any](in *entering, what string, r ref) {
	standing, err := store.FindStanding[T](in.ctx, in.tx, store.ByID, []string{r.id})
	if in.failed(err) || len(standing) == 1 {
		return
	}
	if exists[T](in, r.id) {
		in.Add(groundhand.CodeConflict, r.field, "The %s %s was replaced or withdrawn; name the one that holds now.", what, quoted(r.id))
		return
	}
	in.Add(groundhand.CodeNotFound, r.field, "There is no %s %s.", what, quoted(r.id))
}

func exists[T any](in *entering, id string) bool {
	_, err := store.Get[T](in.ctx, in.tx, id)
	if errors.Is(err, groundhand.CodeNotFound) {
		return false
	}
	return !in.failed(err)
}

// fetch gives the thing that a field names when it stands; otherwise it has refused it.
func fetch[T any](in *entering, what string, r ref) (T, bool) {
	var none T
	if !wellFormed(r.id) {
		return none, false
	}
	known1[T](in, what, r)
	found, err := store.FindStanding[T](in.ctx, in.tx, store.ByID, []string{r.id})
	if in.failed(err) || len(found) == 0 {
		return none, false
	}
	return found[0], true
}

// unused refuses the name of a new thing that another thing has, of whatever kind: a withdrawal names a record by its name alone.
func (in *entering) unused(name string) {
	if wellFormed(name) && in.taken(name) {
		in.Add(groundhand.CodeConflict, "id", "Something else has the name %s already; give this another one.", quoted(name))
	}
}

func (in *entering) taken(name string) bool {
	return exists[groundhand.Yard](in, name) || exists[groundhand.Crew](in, name) || exists[groundhand.Family](in, name) ||
		exists[groundhand.Device](in, name) || exists[groundhand.Kit](in, name) || exists[groundhand.RuleSet](in, name)
}

// correct looks at the record that a form corrects: it must be of the same kind and still stand. Empty: no correction.
func correct[T any](in *entering, what string, e Entry) (old T, is bool) {
	if e.Replaces == "" {
		return old, false
	}
	in.correcting(e.Replaces, e.words())
	old, is = fetch[T](in, what, at("replaces", e.Replaces))
	if !is {
		return old, is
	}
	if e.Kind == groundhand.IdentityMistaken {
		in.mayIdentify(e.Replaces)
	} else {
		in.mayUndo(access.Correct, "replaces", e.Replaces)
	}
	return old, is
}

// mayIdentify refuses a correction of whom an entry is about by an account that may not make one.
func (in *entering) mayIdentify(id groundhand.EntryID) {
	kind, err := in.tx.KindOf(in.ctx, id)
	if err == nil {
		err = access.MayIdentify(in.by, kind)
	}
	in.refuseOr("replaces", err)
	in.notOwnMatter("replaces", id)
}

// mayUndo refuses a correction or withdrawal of a record that this account could not have entered, and gives its kind.
func (in *entering) mayUndo(a access.Act, field string, id groundhand.EntryID) (kind string) {
	kind, err := in.tx.KindOf(in.ctx, id)
	if err == nil {
		err = access.MayUndo(in.by, a, kind)
	}
	in.refuseOr(field, err)
	if err == nil {
		in.notOwnMatter(field, id)
	}
	return kind
}

// mayAbout refuses an act about somebody whom this account does not reach on that day: a foreman reaches the own crew.
func (in *entering) mayAbout(a access.Act, field string, w groundhand.WorkerID, day groundhand.Date) {
	if wellFormed(string(w)) && access.ReachOf(in.by, a) < access.Everybody {
		in.refuseOr(field, access.MayAbout(in.ctx, in.tx, in.by, a, w, day))
	}
}

// refuseOr notes a refusal under a field, and keeps any other failure.
func (in *entering) refuseOr(field string, err error) {
	if len(groundhand.Refusals(err)) == 0 {
		in.failed(err)
		return
	}
	in.take(field, err)
}
