package training

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// form is one filled-in form: it checks its own fields and enters itself, giving what was made.
type form[T any] interface {
	check(c *fields)
	enter(in *entering) T
}

// act is one kind of change: its name in the book of acts, the permission it needs, and what is to be worked out ahead, because it takes
// too long to keep the records open for writing.
type act struct {
	name  string
	may   access.Act
	ahead func(in *entering) error
}

// again reads what an earlier act made, so that the same form with the same key gets the same answer.
type again[T any] func(ctx context.Context, s *store.Store, ids []string) (T, error)

// once does an act once. It asks for permission, looks at the whole form and at what is recorded, and writes everything or nothing,
// together with the key. The same key with the same form gives what was made the first time; with another form it is a Conflict.
func once[T any](ctx context.Context, d *Desk, by groundhand.Account, key string, a act, f form[T], first again[T]) (T, error) {
	var none T
	if err := access.May(by, a.may); err != nil {
		return none, d.notAssessor(ctx, by, key, a, f, err)
	}
	in := &entering{fields: fields{now: d.store.Now(), zone: d.roll.Zone()}, ctx: ctx, tx: d.store, by: by, move: d.move}
	made, err := submitOnce(d, in, key, a, f, first)
	if err != nil {
		return none, d.noted(in, key, a, err)
	}
	if len(in.corrections) > 0 && d.afterwards != nil {
		d.afterwards(context.WithoutCancel(ctx))
	}
	return made, nil
}

func submitOnce[T any](d *Desk, in *entering, key string, a act, f form[T], first again[T]) (T, error) {
	var none T
	ctx, by := in.ctx, in.by
	asked := groundhand.Act{Key: key, AccountID: by.ID, Name: a.name, Digest: digestOf(f)}
	in.checkKey(key)
	f = kept(d.store, f)
	f.check(&in.fields)
	if in.Any() {
		return none, refuse(in, f)
	}
	if err := workAhead(in, a, key, f); err != nil {
		return none, err
	}
	var made T
	err := d.store.InTx(ctx, func(tx *store.Store) error {
		done, found, err := tx.ActDone(ctx, by.ID, key)
		if err != nil {
			return err
		}
		if found {
			made, err = repeated(ctx, tx, asked, done, first)
			return err
		}
		in.tx, in.now = tx, tx.Now()
		made = f.enter(in)
		return in.write(asked)
	})
	if err != nil {
		return none, err
	}
	return made, nil
}

// workAhead does what is to be done before the transaction, unless the act was done already or its form names what is not recorded.
func workAhead[T any](in *entering, a act, key string, f form[T]) error {
	if a.ahead == nil {
		return nil
	}
	_, done, err := in.tx.ActDone(in.ctx, in.by.ID, key)
	if err != nil || done {
		return err
	}
	dry := *in
	if err := refuse(&dry, f); err != nil {
		return err
	}
	return a.ahead(in)
}

// refuse looks at the ids of a form too, also when its fields are wrong already, so that all is said at once. It only reads.
func refuse[T any](in *entering, f form[T]) error {
	if !in.tooMany {
		f.enter(in)
	}
	if in.err != nil {
		return in.err
	}
	return in.Err()
}

func repeated[T any](ctx context.Context, tx *store.Store, asked, done groundhand.Act, first again[T]) (T, error) {
	if err := asked.Repeats(done); err != nil {
		var none T
		return none, err
	}
	return first(ctx, tx, strings.Fields(done.Result))
}

func (c *fields) checkKey(key string) {
	if key == "" || len(key) > longestKey || strings.ContainsFunc(key, groundhand.Hidden) {
		c.wrong("key", "Send a key of 1 to %d characters, made anew for every form.", longestKey)
	}
}

// digestOf is taken of the form as Go writes it, field names and all, to the millisecond. Forms hold no pointers and no maps, so the same
// form always reads the same.
func digestOf(f any) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%#v", f))
	return hex.EncodeToString(sum[:])
}

// entering is one form on its way into the records: it collects refusals and the rows to be written, and writes only when nothing was
// refused. It lives for one call, which is why it may carry the context.
type entering struct {
	fields
	ctx  context.Context
	tx   *store.Store
	by   groundhand.Account
	move mover
	err  error // the first failure that is no refusal
	rows []func() error
	made []string

	said        correctionWords                        // of the form as a whole
	saidOf      map[groundhand.EntryID]correctionWords // of one entry among those that the form corrects
	corrections []groundhand.Correction

	request groundhand.RotationRequest // worked out ahead, as the next two
	plan    groundhand.Plan
	reply   groundhand.Reply
}

// write appends the rows and the act, or gives all refusals.
func (in *entering) write(done groundhand.Act) error {
	if in.err != nil {
		return in.err
	}
	if err := in.Err(); err != nil {
		return err
	}
	resting, err := in.resting()
	if err != nil {
		return err
	}
	for _, row := range in.rows {
		if err := row(); err != nil {
			return err
		}
	}
	if err := in.fallOut(resting); err != nil {
		return err
	}
	if in.by.ID != "" { // else it is the program, which has no account and no keys to remember
		done.Result, done.DoneAt = strings.Join(in.made, " "), in.now
		if err := store.Add(in.ctx, in.tx, done); err != nil {
			return err
		}
	}
	return in.moveCertificates()
}

func (in *entering) failed(err error) bool {
	if err != nil && in.err == nil {
		in.err = err
	}
	return err != nil
}

// told is the record's account of itself.
func (in *entering) told(e Entry, w When) groundhand.Recorded {
	return groundhand.Recorded{
		HappenedOn: w.day(&in.fields), HappenedAt: w.At, RecordedAt: in.now,
		AuthorID: in.by.WorkerID, Capacity: in.by.Capacity, CameBy: e.origin(),
		ReplacesID: e.Replaces, Because: e.Because,
	}
}

func entryID(in *entering) groundhand.EntryID { return groundhand.EntryID(in.tx.NewID()) }

// add puts rows down to be written when nothing is refused, with a Correction beside each that takes the place of another.
func add[T any](in *entering, rows ...T) {
	in.rows = append(in.rows, func() error { return store.Add(in.ctx, in.tx, rows...) })
	for i := range rows {
		in.beside(&rows[i])
	}
}

// result notes the id by which what was made is found again.
func result[K ~string](in *entering, ids ...K) {
	for _, id := range ids {
		in.made = append(in.made, string(id))
	}
}

// one reads a single thing again.
func one[T any](ctx context.Context, s *store.Store, ids []string) (T, error) {
	return store.Get[T](ctx, s, ids[0])
}
