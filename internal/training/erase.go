package training

import (
	"context"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// ErasureForm asks that the names of a worker be replaced by a code.
type ErasureForm struct {
	WorkerID groundhand.WorkerID
	Reason   string // may not name the worker
}

// Erased is an erasure and what is left to do by hand.
type Erased struct {
	Erasure  groundhand.Erasure
	Mentions []groundhand.EntryID // entries in whose free text some part of the name is still found; somebody has to look
}

// Erase replaces the names and numbers of a person by a code; what was done stays. The person's certificates are withdrawn in the same step. It is refused, saying why, while a hold stands on the
// person or on a crew the person was a member of, while the person is employed, and until the retention in force has passed.
func (d *Desk) Erase(ctx context.Context, by groundhand.Account, key string, f ErasureForm) (Erased, error) {
	return once(ctx, d, by, key, act{name: "erase", may: access.Erase}, f, erasedAgain)
}

func erasedAgain(ctx context.Context, s *store.Store, ids []string) (out Erased, err error) {
	out.Erasure, err = one[groundhand.Erasure](ctx, s, ids)
	for _, id := range ids[1:] {
		out.Mentions = append(out.Mentions, groundhand.EntryID(id))
	}
	return out, err
}

func (f ErasureForm) check(c *fields) {
	c.id("workerId", string(f.WorkerID))
	c.needed("reason", f.Reason)
}

func (f ErasureForm) enter(in *entering) (out Erased) {
	if _, is := fetch[groundhand.Worker](in, "worker", at("workerId", f.WorkerID)); !is {
		return out
	}
	in.mayErase(f.WorkerID)
	names := in.partsOfName(f.WorkerID)
	if names.within(f.Reason) {
		in.wrong("reason", "The reason stays; give it without the name.")
	}
	code, person := in.freshCode(), in.tx.SamePerson(f.WorkerID)
	for i, id := range person { // each id under which the person was entered has names and a number of its own; the one kept comes first
		e := groundhand.Erasure{ID: entryID(in), Recorded: in.told(Entry{}, When{At: in.now}), WorkerID: id, Code: code, Reason: f.Reason}
		if i == 0 {
			out.Erasure = e
		} else {
			e.Code += "-" + strconv.Itoa(i+1)
		}
		add(in, e)
	}
	in.withdrawCertificates(f.WorkerID, "erased")
	in.rows = append(in.rows, func() error { return in.tx.EraseNames(in.ctx, person) })
	in.failed(in.tx.FreeTexts(in.ctx, func(id groundhand.EntryID, text string) {
		if names.within(text) {
			out.Mentions = append(out.Mentions, id)
		}
	}))
	result(in, out.Erasure.ID)
	result(in, out.Mentions...)
	return out
}

// mayErase gives every reason why the names are kept.
func (in *entering) mayErase(who groundhand.WorkerID) {
	kept, err := rollcall.New(in.tx, in.zone).Retained(in.ctx, in.today())
	if in.failed(err) {
		return
	}
	i := slices.IndexFunc(kept, func(k rollcall.Keeping) bool { return k.WorkerID == in.tx.Kept(who) })
	if i < 0 {
		in.Add(groundhand.CodeConflict, "workerId", "The names of this worker are erased already.")
		return
	}
	for _, id := range kept[i].Holds {
		in.Add(groundhand.CodeConflict, "workerId", "The hold %s stands; release it first.", string(id))
	}
	if !kept[i].MayErase && (kept[i].Until == 0 || in.today() <= kept[i].Until) {
		in.Add(groundhand.CodeConflict, "workerId", "%s", kept[i].Why)
	}
}

// freshCode is a code that nobody has. It is made from an id made for it and never from the name.
func (in *entering) freshCode() string {
	all, err := store.All[groundhand.Erasure](in.ctx, in.tx)
	in.failed(err)
	for {
		code := codeFrom(in.tx.NewID())
		if !slices.ContainsFunc(all, func(e groundhand.Erasure) bool { return e.Code == code }) {
			return code
		}
	}
}

const codeLength = 8

// codeFrom takes the end of an id, where chance is.
func codeFrom(id string) string {
	plain := strings.ReplaceAll(id, "-", "")
	return "W-" + strings.ToUpper(plain[max(0, len(plain)-codeLength):])
}

// nameParts are the parts of the names that a person ever had.
type nameParts map[string]bool

func (in *entering) partsOfName(who groundhand.WorkerID) nameParts {
	names, err := store.Find[groundhand.WorkerName](in.ctx, in.tx, store.ByWorker, []groundhand.WorkerID{who})
	in.failed(err)
	aliases, err := store.Find[groundhand.Alias](in.ctx, in.tx, store.ByWorker, []groundhand.WorkerID{who})
	in.failed(err)
	out := nameParts{}
	for _, n := range names {
		out.take(n.Name)
	}
	for _, a := range aliases {
		out.take(a.Name)
	}
	return out
}

// take leaves out initials and particles, which every other text has.
func (p nameParts) take(name string) {
	for _, part := range rollcall.NameParts(name) {
		if len([]rune(part)) > 2 && strings.ContainsFunc(part, unicode.IsLetter) {
			p[part] = true
		}
	}
}

// within says whether a text has a part of the names among its words.
func (p nameParts) within(text string) bool {
	return slices.ContainsFunc(rollcall.NameParts(text), func(word string) bool { return p[word] })
}
