package rollcall

import (
	"context"
	"reflect"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// noted is an entry of any kind: what it is, whom it is about, and both its clocks.
type noted struct {
	groundhand.Recorded
	id     groundhand.EntryID
	kind   string // the name of its table
	worker groundhand.WorkerID
	names  groundhand.EntryID // the run that a part belongs to, or what a withdrawal withdraws
	says   rulebook.Asked     // as far as it names a method, a role and a family
	result string             // of an assessment or an inspection; the kind of an absence, the grade
	signed []groundhand.WorkerID
}

// kind reads the entries of one kind.
type kind struct {
	name     string
	find     reader // replaced and withdrawn ones too
	standing reader
}

type reader func(ctx context.Context, s *store.Store, by store.Field, keys []string) ([]noted, error)

// told is what every entry can say.
type told[T any] interface {
	*T
	Told() *groundhand.Recorded
}

func kindOf[T any, P told[T]](name string) kind {
	read := func(find func(context.Context, *store.Store, store.Field, []string) ([]T, error)) reader {
		return func(ctx context.Context, s *store.Store, by store.Field, keys []string) ([]noted, error) {
			rows, err := find(ctx, s, by, keys)
			out := make([]noted, len(rows))
			for i := range rows {
				out[i] = notedOf(name, reflect.ValueOf(rows[i]), *P(&rows[i]).Told())
			}
			return out, err
		}
	}
	return kind{name, read(store.Find[T, string]), read(store.FindStanding[T, string])}
}

// notedOf reads the few fields that bear the same name in every kind.
func notedOf(kind string, row reflect.Value, recorded groundhand.Recorded) noted {
	word := func(names ...string) string {
		for _, name := range names {
			if f := row.FieldByName(name); f.IsValid() {
				return f.String()
			}
		}
		return ""
	}
	n := noted{Recorded: recorded, id: groundhand.EntryID(word("ID")), kind: kind,
		worker: groundhand.WorkerID(word("WorkerID", "AssessorID")), names: groundhand.EntryID(word("RunID", "WithdrawsID")),
		says:   rulebook.Asked{Method: groundhand.Method(word("Method")), Role: groundhand.Role(word("Role")), FamilyID: groundhand.FamilyID(word("FamilyID"))},
		result: word("Result", "Level", "Kind", "Grade")}
	for _, field := range []string{"AssessorID", "ApproverID", "CheckerID", "WatchedBy"} {
		if by := groundhand.WorkerID(word(field)); by != "" && by != n.worker && !slices.Contains(n.signed, by) {
			n.signed = append(n.signed, by)
		}
	}
	return n
}

// The kinds by what they are about.
var (
	partKind       = kindOf[groundhand.RunPart]("run_parts")
	runKind        = kindOf[groundhand.Run]("runs")
	passKind       = kindOf[groundhand.Assessment]("assessments")
	authorityKind  = kindOf[groundhand.Authority]("authorities")
	membershipKind = kindOf[groundhand.Membership]("memberships")
	withdrawalKind = kindOf[groundhand.Withdrawal]("withdrawals")
	ruleSetKind    = kindOf[groundhand.RuleSet]("rule_sets")

	// evidenceKinds bear on the standing of the worker they name.
	evidenceKinds = []kind{partKind, passKind, kindOf[groundhand.OutsideEvidence]("outside_evidences"), kindOf[groundhand.Suspension]("suspensions"),
		kindOf[groundhand.Lifting]("liftings"), kindOf[groundhand.Extension]("extensions"), kindOf[groundhand.Provisional]("provisionals"),
		kindOf[groundhand.Unavailability](unavailabilities), kindOf[groundhand.Grading]("gradings")}

	// identityKinds tell who a worker is and bear on no answer.
	identityKinds = []kind{kindOf[groundhand.WorkerName]("worker_names"), kindOf[groundhand.WorkerNumber]("worker_numbers"), kindOf[groundhand.Alias]("aliases"),
		kindOf[groundhand.Employment]("employments"), kindOf[groundhand.Posting]("postings")}

	// gearKinds name the device or the kit that they are about.
	gearKinds = []kind{kindOf[groundhand.Inspection]("inspections"), kindOf[groundhand.Defect]("defects"), kindOf[groundhand.KitPlacing]("kit_placings")}

	classingKind = kindOf[groundhand.Classing]("classings")
	deviceKind   = kindOf[groundhand.Device]("devices")
	kitKind      = kindOf[groundhand.Kit]("kits")
	crewKind     = kindOf[groundhand.Crew]("crews")
	jobKind      = kindOf[groundhand.Job]("jobs")
	briefingKind = kindOf[groundhand.Briefing]("briefings")
	sessionKind  = kindOf[groundhand.Session]("sessions")
	workerKind   = kindOf[groundhand.Worker]("workers")
)

const unavailabilities = "unavailabilities"

// markedKinds are those whose entries are marked.
var markedKinds = append(append(append([]kind{runKind, authorityKind, membershipKind, withdrawalKind, ruleSetKind, classingKind, deviceKind, kitKind, crewKind, jobKind,
	briefingKind, sessionKind, workerKind, kindOf[groundhand.Booking]("bookings"), kindOf[groundhand.Certificate]("certificates"), kindOf[groundhand.RealEvent]("real_events")},
	evidenceKinds...), identityKinds...), gearKinds...)
