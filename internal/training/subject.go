package training

import (
	"context"
	"reflect"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// subject is whom an entry concerns.
type subject struct {
	groundhand.Recorded
	worker  groundhand.WorkerID   // whom it is about; empty: no one person
	signers []groundhand.WorkerID // who judged, watched, checked or approved it
	from    groundhand.Date       // the first day that it bears on
}

// signed says whether somebody's judgement stands in the entry.
func (s subject) signed(w groundhand.WorkerID) bool { return w != "" && slices.Contains(s.signers, w) }

// concerns says whether the entry is about somebody, or somebody signed or entered it.
func (s subject) concerns(w groundhand.WorkerID) bool {
	return w != "" && (w == s.worker || w == s.AuthorID || s.signed(w))
}

// readers read the entries of a kind of which it matters whom they concern, by the table that keeps them.
var readers = map[string]func(context.Context, *store.Store, groundhand.EntryID) (any, error){
	"worker_names": readEntry[groundhand.WorkerName], "employments": readEntry[groundhand.Employment], "gradings": readEntry[groundhand.Grading],
	"postings": readEntry[groundhand.Posting], "unavailabilities": readEntry[groundhand.Unavailability], "memberships": readEntry[groundhand.Membership],
	"bookings": readEntry[groundhand.Booking], "runs": readEntry[groundhand.Run], "run_parts": readEntry[groundhand.RunPart], "assessments": readEntry[groundhand.Assessment],
	"authorities": readEntry[groundhand.Authority], "outside_evidences": readEntry[groundhand.OutsideEvidence], "suspensions": readEntry[groundhand.Suspension],
	"liftings": readEntry[groundhand.Lifting], "extensions": readEntry[groundhand.Extension], "provisionals": readEntry[groundhand.Provisional],
	"certificates": readEntry[groundhand.Certificate], "inspections": readEntry[groundhand.Inspection], "defects": readEntry[groundhand.Defect],
	"briefings": readEntry[groundhand.Briefing], "shifts": readEntry[groundhand.Shift], "replies": readEntry[groundhand.Reply], "decisions": readEntry[groundhand.Decision],
	"assessor_findings": readEntry[groundhand.AssessorFinding], "sessions": readEntry[groundhand.Session], "jobs": readEntry[groundhand.Job], "kit_placings": readEntry[groundhand.KitPlacing],
	"withdrawals": readEntry[groundhand.Withdrawal],
}

func readEntry[T any](ctx context.Context, s *store.Store, id groundhand.EntryID) (any, error) {
	row, err := store.Get[T](ctx, s, id)
	return &row, err
}

// subjectOf tells whom an entry concerns, also one that no longer stands. What a withdrawal took back is what it concerns.
func (in *entering) subjectOf(id groundhand.EntryID) (kind string, _ subject, err error) {
	kind, row, err := in.entry(id)
	if err != nil || row == nil {
		return kind, subject{}, err
	}
	if w, is := row.(*groundhand.Withdrawal); is {
		return in.subjectOf(w.WithdrawsID)
	}
	s := subject{Recorded: *row.(interface{ Told() *groundhand.Recorded }).Told()}
	v := reflect.ValueOf(row).Elem()
	worker := func(name string) groundhand.WorkerID {
		if f := v.FieldByName(name); f.IsValid() {
			return groundhand.WorkerID(f.String())
		}
		return ""
	}
	s.worker, s.from = worker("WorkerID"), s.HappenedOn
	if kind == "authorities" || kind == "assessor_findings" {
		s.worker = worker("AssessorID")
		s.from = v.FieldByName("FromOn").Interface().(groundhand.Date)
		s.signers = append(s.signers, s.AuthorID) // who granted or found it
	} else {
		s.signers = append(s.signers, worker("AssessorID"))
	}
	s.signers = append(s.signers, worker("CheckerID"), worker("ApproverID"), worker("WatchedBy"))
	return kind, s, nil
}

// entry reads an entry of a kind of which it matters whom it concerns; of another kind there is no row.
func (in *entering) entry(id groundhand.EntryID) (kind string, row any, err error) {
	kind, err = in.tx.KindOf(in.ctx, id)
	if err != nil || readers[kind] == nil {
		return kind, nil, err
	}
	row, err = readers[kind](in.ctx, in.tx, id)
	return kind, row, err
}
