package training

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// breach is a signature that was refused because of who would have signed.
type breach struct {
	rule    groundhand.SigningRule
	worker  groundhand.WorkerID // whom it was about
	message string
}

// mostBreaches bounds what is noted of one form.
const mostBreaches = 100

// breaks refuses a signature that a rule forbids, and has the attempt noted.
func (c *fields) breaks(rule groundhand.SigningRule, about groundhand.WorkerID, code groundhand.Code, field, format string, args ...any) {
	c.Add(code, field, format, args...)
	said := groundhand.Refusals(c.Err())
	b := breach{rule, about, said[len(said)-1].Message}
	for _, before := range c.broken {
		if before == b {
			return
		}
	}
	if len(c.broken) < mostBreaches {
		c.broken = append(c.broken, b)
	}
}

// noted gives why a form was refused, after noting what it tried to sign. That is a transaction of its own: the form left nothing behind.
func (d *Desk) noted(in *entering, key string, a act, refused error) error {
	if len(in.broken) == 0 || len(groundhand.Refusals(refused)) == 0 {
		return refused
	}
	return besides(refused, d.note(in.ctx, in.by, key, a.name, in.broken))
}

// notAssessor notes that somebody who assesses nobody tried to.
func (d *Desk) notAssessor(ctx context.Context, by groundhand.Account, key string, a act, form any, refused error) error {
	f, assesses := form.(AssessmentForm)
	if !assesses || !errors.Is(refused, groundhand.CodeForbidden) {
		return refused
	}
	return besides(refused, d.note(ctx, by, key, a.name, []breach{{groundhand.NotAssessor, f.WorkerID, refused.Error()}}))
}

func besides(refused, failed error) error {
	if failed == nil {
		return refused
	}
	return errors.Join(refused, failed)
}

// note appends the attempts. Its id is made of the account, the key and what was tried, so that a form sent again is noted once.
func (d *Desk) note(ctx context.Context, by groundhand.Account, key, act string, broken []breach) error {
	return d.store.InTx(ctx, func(tx *store.Store) error {
		for _, b := range broken {
			if err := noteOne(ctx, tx, d, by, key, act, b); err != nil {
				return err
			}
		}
		return nil
	})
}

func noteOne(ctx context.Context, tx *store.Store, d *Desk, by groundhand.Account, key, act string, b breach) error {
	id := groundhand.EntryID(attemptID(by, key, act, b))
	before, err := store.Find[groundhand.RefusedAttempt](ctx, tx, store.ByID, []groundhand.EntryID{id})
	if err != nil || len(before) > 0 {
		return err
	}
	if _, err := store.Get[groundhand.Worker](ctx, tx, b.worker); err != nil {
		b.worker = "" // nobody known
	}
	now := tx.Now()
	return store.Add(ctx, tx, groundhand.RefusedAttempt{ID: id, Act: act, Rule: b.rule, WorkerID: b.worker, Message: b.message,
		Recorded: groundhand.Recorded{HappenedOn: groundhand.DateOf(now.In(d.roll.Zone())), HappenedAt: now, RecordedAt: now,
			AuthorID: by.WorkerID, Capacity: by.Capacity, CameBy: groundhand.TypedLive}})
}

func attemptID(by groundhand.Account, key, act string, b breach) string {
	sum := sha256.New()
	for _, part := range []string{string(by.ID), key, act, string(b.rule), string(b.worker), b.message} {
		sum.Write([]byte(part))
		sum.Write([]byte{0})
	}
	return "refused-" + hex.EncodeToString(sum.Sum(nil)[:16])
}

// notForSelf refuses an act in the author's own favour.
func (in *entering) notForSelf(rule groundhand.SigningRule, field string, w groundhand.WorkerID, why string) {
	if w != "" && w == in.by.WorkerID {
		in.breaks(rule, w, groundhand.CodeForbidden, field, "%s", why)
	}
}

// ownMatters are the rules that keep people from undoing what others judged about them, by the kind of entry: a fail that the failed
// withdraws would be a pass given to self.
var ownMatters = map[string]groundhand.SigningRule{
	"assessments": groundhand.SelfAssessment, "suspensions": groundhand.OwnSuspension, "liftings": groundhand.OwnSuspension,
	"outside_evidences": groundhand.OwnEvidence, "extensions": groundhand.OwnExtension, "provisionals": groundhand.OwnExtension,
	"authorities": groundhand.OwnAuthority,
}

// notOwnMatter refuses to correct or withdraw what was judged about the author, or to bring it back.
func (in *entering) notOwnMatter(field string, id groundhand.EntryID) {
	kind, s, err := in.subjectOf(id)
	if rule := ownMatters[kind]; !in.failed(err) && rule != "" {
		in.notForSelf(rule, field, s.worker, "Nobody corrects or withdraws what was judged about self; somebody else has to.")
	}
}
