package training

import (
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// mover moves the certificates that rest on an entry; see MoveCertificates.
type mover func(ctx context.Context, tx *store.Store, by groundhand.Account, was, now groundhand.EntryID, because string) error

// MoveCertificates has the certificates moved that rest on a pass or a part in a run which no longer stands: was is that entry, now the one that
// stands in its place, empty when none does, or the same entry when it is another person's since two people were taken apart. It is done in the
// transaction of the correction or withdrawal, after everything else was written, once for every entry on which standing certificates rest; when
// it fails, nothing is written. What a certificate says is signed and in the world, so it cannot follow by itself.
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
		kind, id, err := in.bearsOn(c)
		switch {
		case err != nil:
		case kind == "assessments" || kind == "run_parts":
			err = in.moveAlong(id, c.Because)
		case kind == "merges":
			err = in.moveApart(id, c.Because)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// bearsOn is what a correction is about: what it puts in the place of another, or what it takes back, through all withdrawals of withdrawals.
func (in *entering) bearsOn(c groundhand.Correction) (kind string, id groundhand.EntryID, err error) {
	id = c.ByID // what replaces leads back to all that it replaced
	for {
		var row any
		if kind, row, err = in.entry(id); err != nil {
			return kind, id, err
		}
		w, is := row.(*groundhand.Withdrawal)
		if !is {
			return kind, id, nil
		}
		id = w.WithdrawsID
	}
}

// moveAlong moves what rests on a pass or a part in a run, or on one that it replaced.
func (in *entering) moveAlong(id groundhand.EntryID, because string) error {
	line, err := in.lineOf(id)
	if err != nil {
		return err
	}
	who, err := in.whoShowed(line)
	if err != nil {
		return err
	}
	var now groundhand.EntryID
	var gone []groundhand.EntryID
	for _, id := range line {
		switch {
		case who[id] == "":
			gone = append(gone, id)
		case now == "":
			now = id
		}
	}
	certs, err := store.FindStanding[groundhand.Certificate](in.ctx, in.tx, store.ByEvidence, gone)
	if err != nil {
		return err
	}
	for _, was := range evidenceOf(certs) {
		if err := in.move(in.ctx, in.tx, in.by, was, now, because); err != nil {
			return err
		}
	}
	return nil
}

// moveApart moves, where two people were taken for one and are two again, the certificates in the name of the one that rest on what the other showed.
func (in *entering) moveApart(merge groundhand.EntryID, because string) error {
	m, err := store.Get[groundhand.Merge](in.ctx, in.tx, merge)
	if err != nil {
		return err
	}
	certs, err := store.FindStanding[groundhand.Certificate](in.ctx, in.tx, store.ByWorker, in.tx.SamePerson(m.KeptID, m.GoneID))
	if err != nil {
		return err
	}
	who, err := in.whoShowed(evidenceOf(certs))
	if err != nil {
		return err
	}
	certs = slices.DeleteFunc(certs, func(c groundhand.Certificate) bool { return who[c.EvidenceID] == "" || who[c.EvidenceID] == c.WorkerID })
	for _, id := range evidenceOf(certs) {
		if err := in.move(in.ctx, in.tx, in.by, id, id, because); err != nil {
			return err
		}
	}
	return nil
}

// evidenceOf is what certificates rest on, each entry once.
func evidenceOf(certs []groundhand.Certificate) (out []groundhand.EntryID) {
	for _, c := range certs {
		if !slices.Contains(out, c.EvidenceID) {
			out = append(out, c.EvidenceID)
		}
	}
	return out
}

// whoShowed says whose the passes and parts in a run are that stand.
func (in *entering) whoShowed(ids []groundhand.EntryID) (map[groundhand.EntryID]groundhand.WorkerID, error) {
	out := map[groundhand.EntryID]groundhand.WorkerID{}
	passes, err := store.FindStanding[groundhand.Assessment](in.ctx, in.tx, store.ByID, ids)
	if err != nil {
		return nil, err
	}
	for _, a := range passes {
		out[a.ID] = a.WorkerID
	}
	parts, err := store.FindStanding[groundhand.RunPart](in.ctx, in.tx, store.ByID, ids)
	for _, p := range parts {
		out[p.ID] = p.WorkerID
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
