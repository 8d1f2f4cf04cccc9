package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
)

// WithdrawalForm says that a record no longer holds.
type WithdrawalForm struct {
	EntryID groundhand.EntryID
	Because string
}

// Withdraw enters a withdrawal of any record, also of a withdrawal, which makes the record hold again. Whoever withdraws must be allowed
// to enter records of that kind.
func (d *Desk) Withdraw(ctx context.Context, by groundhand.Account, key string, f WithdrawalForm) (groundhand.Withdrawal, error) {
	return once(ctx, d, by, key, act{"withdraw", access.Withdraw}, f, one[groundhand.Withdrawal])
}

func (f WithdrawalForm) check(c *fields) {
	c.id("entryId", string(f.EntryID))
	c.needed("because", f.Because)
}

func (f WithdrawalForm) enter(in *entering) groundhand.Withdrawal {
	in.withdrawable(f.EntryID)
	told := in.told(Entry{Because: f.Because}, When{At: in.now})
	w := groundhand.Withdrawal{ID: entryID(in), Recorded: told, WithdrawsID: f.EntryID}
	add(in, w)
	result(in, w.ID)
	return w
}

// kind is a kind of record: who may enter it, and whether an id is one of its kind.
type kind struct {
	may access.Act
	has func(in *entering, id string) bool
	ask func(in *entering, id string)
}

func kindOf[T any](name string, may access.Act) kind {
	return kind{may, exists[T], func(in *entering, id string) { known[T](in, name, ref{"entryId", id}) }}
}

// kinds are the records that can be withdrawn. Accounts, flags and acts are not records of the trade.
var kinds = []kind{
	kindOf[groundhand.RunPart]("part in a run", access.RecordDrill),
	kindOf[groundhand.Run]("run", access.RecordDrill),
	kindOf[groundhand.Assessment]("assessment", access.Assess),
	kindOf[groundhand.Withdrawal]("withdrawal", access.Withdraw),
	kindOf[groundhand.Session]("session", access.BookSession),
	kindOf[groundhand.Booking]("booking", access.BookSession),
	kindOf[groundhand.Job]("job", access.BookJob),
	kindOf[groundhand.Membership]("membership", access.ManageCrews),
	kindOf[groundhand.Unavailability]("absence", access.ManageUnavailability),
	kindOf[groundhand.UnavailabilityReason]("reason", access.ManageUnavailability),
	kindOf[groundhand.OutsideEvidence]("outside evidence", access.RecordEvidence),
	kindOf[groundhand.Suspension]("suspension", access.Suspend),
	kindOf[groundhand.Lifting]("lifting", access.Suspend),
	kindOf[groundhand.Extension]("extension", access.Extend),
	kindOf[groundhand.Provisional]("acceptance", access.AcceptProvisionally),
	kindOf[groundhand.Authority]("authority", access.GrantAuthority),
	kindOf[groundhand.Inspection]("inspection", access.Inspect),
	kindOf[groundhand.KitPlacing]("placing", access.ManageDevices),
	kindOf[groundhand.Kit]("kit", access.ManageDevices),
	kindOf[groundhand.Device]("device", access.ManageDevices),
	kindOf[groundhand.Family]("control family", access.ManageDevices),
	kindOf[groundhand.Worker]("worker", access.ManageWorkers),
	kindOf[groundhand.WorkerName]("name", access.ManageWorkers),
	kindOf[groundhand.Employment]("employment", access.ManageWorkers),
	kindOf[groundhand.Grading]("grade", access.ManageWorkers),
	kindOf[groundhand.Posting]("home yard", access.ManageWorkers),
	kindOf[groundhand.Crew]("crew", access.ManageCrews),
	kindOf[groundhand.Yard]("yard", access.ManageCrews),
	kindOf[groundhand.Road]("road", access.ManageCrews),
	kindOf[groundhand.RuleSet]("rule set", access.ManageRules),
	kindOf[groundhand.Certificate]("certificate", access.IssueCertificate),
}

// withdrawable refuses an id that nothing has, a record that no longer holds, and a kind that this account may not enter.
func (in *entering) withdrawable(id groundhand.EntryID) {
	if !wellFormed(string(id)) {
		return
	}
	for _, k := range kinds {
		if k.has(in, string(id)) {
			k.ask(in, string(id))
			in.take("entryId", access.May(in.by, k.may))
			return
		}
	}
	in.Add(groundhand.CodeNotFound, "entryId", "There is no record %s.", quoted(string(id)))
}
