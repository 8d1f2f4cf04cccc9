package training

import (
	"context"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// mover moves the certificates that rest on an entry; see MoveCertificates.
type mover func(ctx context.Context, tx *store.Store, by groundhand.Account, was, now groundhand.EntryID, because string) error

// MoveCertificates has the certificates moved that rest on a pass or a part in a run which no longer stands: was is that entry, now the one that
// stands in its place, empty when none does. It is done in the transaction of the correction or withdrawal, after everything else was written, once
// for every entry on which standing certificates rest; when it fails, nothing is written. What a certificate says is signed and in the world, so it
// cannot follow by itself.
func (d *Desk) MoveCertificates(do func(ctx context.Context, tx *store.Store, by groundhand.Account, was, now groundhand.EntryID, because string) error) {
	d.move = do
}

// moveCertificates looks, for everything that was corrected or taken back, at the whole line of corrections that it belongs to: taking back a
// correction lets the older entry stand again, and bringing one back takes that away.
func (in *entering) moveCertificates() error {
	if in.move == nil {
		return nil
	}
	for _, c := range in.corrections {
		kind, line, err := in.evidenceLine(c)
		if err != nil {
			return err
		}
		if err := in.moveAlong(kind, line, c.Because); err != nil {
			return err
		}
	}
	return nil
}

// evidenceLine gives the passes or parts in a run that a correction bears on, the latest first; none when it is about something else.
func (in *entering) evidenceLine(c groundhand.Correction) (kind string, _ []groundhand.EntryID, err error) {
	id := c.ByID // what replaces leads back to all that it replaced
	for {
		var row any
		if kind, row, err = in.entry(id); err != nil {
			return kind, nil, err
		}
		w, is := row.(*groundhand.Withdrawal)
		if !is {
			break
		}
		id = w.WithdrawsID
	}
	if kind != "assessments" && kind != "run_parts" {
		return kind, nil, nil
	}
	line, err := in.lineOf(id)
	return kind, line, err
}

func (in *entering) moveAlong(kind string, line []groundhand.EntryID, because string) error {
	stands, err := in.standingAmong(kind, line)
	if err != nil {
		return err
	}
	var now groundhand.EntryID
	var gone []groundhand.EntryID
	for _, id := range line {
		switch {
		case !stands[id]:
			gone = append(gone, id)
		case now == "":
			now = id
		}
	}
	certs, err := store.FindStanding[groundhand.Certificate](in.ctx, in.tx, store.ByEvidence, gone)
	if err != nil {
		return err
	}
	moved := map[groundhand.EntryID]bool{}
	for _, cert := range certs {
		if moved[cert.EvidenceID] {
			continue
		}
		moved[cert.EvidenceID] = true
		if err := in.move(in.ctx, in.tx, in.by, cert.EvidenceID, now, because); err != nil {
			return err
		}
	}
	return nil
}

// standingAmong says which passes, or parts in a run, stand.
func (in *entering) standingAmong(kind string, ids []groundhand.EntryID) (map[groundhand.EntryID]bool, error) {
	out := map[groundhand.EntryID]bool{}
	if len(ids) == 0 {
		return out, nil
	}
	if kind == "assessments" {
		passes, err := store.FindStanding[groundhand.Assessment](in.ctx, in.tx, store.ByID, ids)
		for _, a := range passes {
			out[a.ID] = true
		}
		return out, err
	}
	parts, err := store.FindStanding[groundhand.RunPart](in.ctx, in.tx, store.ByID, ids)
	for _, p := range parts {
		out[p.ID] = true
	}
	return out, err
}

// finalMark is why a certificate that was withdrawn stays so (W3C Bitstring Status List 1.0: the purpose "revocation" is not reversible).
const finalMark = "A withdrawn certificate stays withdrawn: its mark in the published list is final. Issue a new one."

// staysWithdrawn refuses to take back the withdrawal of a certificate.
func (in *entering) staysWithdrawn(withdrawal groundhand.EntryID) {
	kind, _, err := in.subjectOf(withdrawal)
	if !in.failed(err) && kind == "certificates" {
		in.Add(groundhand.CodeConflict, "entryId", finalMark)
	}
}

// marked gives the mark of a certificate in the published list, if it has one.
func (in *entering) marked(id groundhand.EntryID) (store.Revocation, bool) {
	found, err := store.RevokedAmong(in.ctx, in.tx, []groundhand.CertificateID{groundhand.CertificateID(id)})
	if in.failed(err) || len(found) == 0 {
		return store.Revocation{}, false
	}
	return found[0], true
}

// withdrawCertificates withdraws all standing certificates of a person, because nobody can be asked about a name that is gone.
func (in *entering) withdrawCertificates(of groundhand.WorkerID, because string) {
	certs, err := store.FindStanding[groundhand.Certificate](in.ctx, in.tx, store.ByWorker, []groundhand.WorkerID{of})
	in.failed(err)
	gone := make([]groundhand.Withdrawal, len(certs))
	for i, c := range certs {
		gone[i] = in.withdrawal(groundhand.EntryID(c.ID), because)
	}
	in.rows = append(in.rows, func() error { return store.Add(in.ctx, in.tx, gone...) })
}
