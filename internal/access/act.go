// Package access says who may do what, and opens the service to those who show a good token. The whole of the first is one table.
package access

import (
	"slices"

	"groundhand/internal/groundhand"
)

// Act is something that somebody does with the service.
type Act string

// Acts of reading.
const (
	ReadAccount      Act = "read own account"
	ReadOwn          Act = "read own record"
	ReadRoster       Act = "read the roster"     // workers, crews, yards, devices, kits
	ReadStanding     Act = "read standings"      // who is current in what, with the evidence
	ReadCover        Act = "read rescue cover"   // may a crew be sent
	ReadReasons      Act = "read health reasons" // why somebody is unavailable
	ReadFlags        Act = "read flags"
	ReadCertificates Act = "read certificates"
	ReadPlans        Act = "read rotation plans"
	ReadRunSheets    Act = "read run sheets" // the order of the runs of a session
	ReadAccounts     Act = "read accounts"
	ReadKeys         Act = "read the signing keys" // their public parts and what became of them
	ReadEntries      Act = "read the entries"      // who told what when, corrections and withdrawals included
	ReadViewings     Act = "read who looked"       // at whose record
	ReadHolds        Act = "read holds"            // and what may be erased when
	Audit            Act = "audit"                 // samples, screens, packs
)

// Acts of changing.
const (
	RecordDrill          Act = "record a drill"
	Assess               Act = "assess"
	RecordEvidence       Act = "record outside evidence" // first aid, other employers
	Inspect              Act = "inspect"
	BookSession          Act = "book a session"
	PlanRotation         Act = "plan the rotation"
	AdoptPlan            Act = "adopt a plan"
	BookJob              Act = "book a job"
	RaiseDefect          Act = "raise a defect"    // anybody who sees one
	Brief                Act = "answer a briefing" // the foreman, on the spot
	PlanShift            Act = "plan a shift"      // hours of an assessor
	GiveAnswer           Act = "give an answer"    // about cover, kept for ever
	Decide               Act = "decide on a crew"  // upon an answer given
	LendWorkers          Act = "lend workers"      // memberships for a time: loan, split, storm
	ManageWorkers        Act = "manage workers"
	ManageCrews          Act = "manage crews"
	ManageUnavailability Act = "manage unavailability"
	ManageDevices        Act = "manage devices" // and kits, control families
	ManageRules          Act = "manage rules"   // adopt at once, on the machine itself; others propose and approve
	GrantAuthority       Act = "grant an assessor's authority"
	Suspend              Act = "suspend"
	Lift                 Act = "lift a suspension"
	Extend               Act = "extend beyond the last good day"
	AcceptProvisionally  Act = "accept provisionally"
	IssueCertificate     Act = "issue certificates"
	ExportCertificates   Act = "export certificates"
	KeepKeys             Act = "keep the signing keys" // announce, change, tell stolen
	Import               Act = "import"
	Sweep                Act = "sweep"
	ManageAccounts       Act = "manage accounts"
	Correct              Act = "correct an entry"  // besides the act that records such an entry, see MayUndo
	Withdraw             Act = "withdraw an entry" // the same
	Dispute              Act = "dispute an entry"  // about oneself
	RuleOnDispute        Act = "rule on a dispute"
	ReviewEntries        Act = "review entries" // find an assessor invalid, close a review
	ProposeRules         Act = "propose rules"
	ApproveRules         Act = "approve rules" // never the own proposal
	MergeWorkers         Act = "merge workers"
	PlaceHold            Act = "place a hold" // and release it
	SetRetention         Act = "set the retention"
	Erase                Act = "erase names"
	ReportEvent          Act = "report a real event"
	SaveMapping          Act = "save a mapping of columns"
)

// Reach is whose records an act reaches.
type Reach int

// The reaches, widest last.
const (
	Nobody  Reach = iota
	Self          // the worker of the account
	OwnCrew       // the crews that the worker of the account is foreman of
	Everybody
)

// Short names for the table.
const (
	coordinator = groundhand.Coordinator
	dispatcher  = groundhand.Dispatcher
	hr          = groundhand.HR
	assessor    = groundhand.Assessor
	inspector   = groundhand.Inspector
	auditor     = groundhand.Auditor
	foreman     = groundhand.CrewForeman
	worker      = groundhand.FieldWorker
	program     = groundhand.Program
)

type reaches map[groundhand.Capacity]Reach

func everybody(list ...groundhand.Capacity) reaches {
	r := reaches{}
	for _, c := range list {
		r[c] = Everybody
	}
	return r
}

func (r reaches) and(c groundhand.Capacity, reach Reach) reaches { r[c] = reach; return r }

// table is who may do what. An auditor reads everything but reasons and changes nothing. Reasons are for HR alone.
var table = map[Act]reaches{
	ReadAccount: everybody(coordinator, dispatcher, hr, assessor, inspector, auditor, foreman, worker, program),
	ReadOwn:     reaches{coordinator: Self, dispatcher: Self, hr: Self, assessor: Self, inspector: Self, auditor: Self, foreman: Self, worker: Self},

	ReadRoster:       everybody(coordinator, dispatcher, hr, assessor, inspector, auditor, foreman, program),
	ReadStanding:     everybody(coordinator, dispatcher, hr, assessor, auditor, program).and(foreman, OwnCrew),
	ReadCover:        everybody(coordinator, dispatcher, auditor, program).and(foreman, OwnCrew),
	ReadReasons:      everybody(hr),
	ReadFlags:        everybody(coordinator, dispatcher, auditor, program).and(foreman, OwnCrew),
	ReadCertificates: everybody(coordinator, hr, auditor),
	ReadPlans:        everybody(coordinator, auditor),
	ReadRunSheets:    everybody(coordinator, assessor, auditor).and(foreman, OwnCrew),
	ReadAccounts:     everybody(coordinator, auditor),
	ReadKeys:         everybody(coordinator, auditor),
	ReadEntries:      everybody(coordinator, auditor),

	ReadViewings: everybody(auditor, hr),
	ReadHolds:    everybody(coordinator, hr, auditor),
	Audit:        everybody(coordinator, auditor),

	RecordDrill:          everybody(coordinator, assessor).and(foreman, OwnCrew),
	Assess:               everybody(assessor),
	RecordEvidence:       everybody(coordinator, hr),
	Inspect:              everybody(inspector).and(foreman, Everybody), // the crew does the daily and the weekly look
	RaiseDefect:          everybody(coordinator, dispatcher, assessor, inspector).and(foreman, Everybody).and(worker, Everybody),
	Brief:                reaches{foreman: OwnCrew},
	PlanShift:            everybody(coordinator, dispatcher),
	GiveAnswer:           everybody(coordinator, dispatcher).and(foreman, OwnCrew),
	Decide:               everybody(dispatcher).and(foreman, OwnCrew),
	BookSession:          everybody(coordinator),
	PlanRotation:         everybody(coordinator),
	AdoptPlan:            everybody(coordinator),
	BookJob:              everybody(dispatcher),
	LendWorkers:          everybody(coordinator, dispatcher),
	ManageWorkers:        everybody(hr),
	ManageCrews:          everybody(coordinator),
	ManageUnavailability: everybody(hr, dispatcher), // somebody rings in sick at 05:20, and the dispatcher is who is there
	ManageDevices:        everybody(coordinator, inspector),
	ManageRules:          everybody(program),
	GrantAuthority:       everybody(coordinator),
	Suspend:              everybody(coordinator),
	Lift:                 everybody(coordinator),
	Extend:               everybody(coordinator),
	AcceptProvisionally:  everybody(coordinator),
	IssueCertificate:     everybody(coordinator),
	ExportCertificates:   everybody(coordinator, hr),
	KeepKeys:             everybody(coordinator),
	Import:               everybody(coordinator, program),
	Sweep:                everybody(coordinator, program),
	ManageAccounts:       everybody(coordinator, hr, program), // see MayAddAccount
	Correct:              everybody(coordinator, dispatcher, hr, assessor, inspector).and(foreman, OwnCrew),
	Withdraw:             everybody(coordinator, dispatcher, hr, assessor, inspector).and(foreman, OwnCrew),
	Dispute:              reaches{coordinator: Self, dispatcher: Self, hr: Self, assessor: Self, inspector: Self, foreman: Self, worker: Self},
	RuleOnDispute:        everybody(coordinator, hr),
	ReviewEntries:        everybody(coordinator),
	ProposeRules:         everybody(coordinator),
	ApproveRules:         everybody(coordinator),
	MergeWorkers:         everybody(hr),
	PlaceHold:            everybody(coordinator, hr),
	SetRetention:         everybody(hr),
	Erase:                everybody(hr),
	ReportEvent:          everybody(coordinator, dispatcher, assessor).and(foreman, Everybody),
	SaveMapping:          everybody(coordinator, hr),
}

// Table gives who may do what at all, each list in the order in which capacities are shown, the program last.
func Table() map[Act][]groundhand.Capacity {
	out := map[Act][]groundhand.Capacity{}
	for act, reaches := range table {
		for _, c := range append(slices.Clone(groundhand.Capacities), program) {
			if reaches[c] != Nobody {
				out[act] = append(out[act], c)
			}
		}
	}
	return out
}

// ReachOf is whose records an account reaches with an act. ReadOwn needs a worker to the account.
func ReachOf(by groundhand.Account, act Act) Reach {
	reach := table[act][by.Capacity]
	if reach < Everybody && by.WorkerID == "" {
		return Nobody
	}
	return reach
}

// May is nil when the account may do the act at all; else Unauthenticated for no account, Forbidden for one that may not.
// Where the reach is narrower than Everybody, ask MayAbout or MayCrew too.
func May(by groundhand.Account, act Act) error {
	if by.Capacity == "" || by.ID == "" && by.Capacity != program {
		return unauthenticated()
	}
	if ReachOf(by, act) == Nobody {
		return groundhand.Forbidden("The capacity %s may not %s.", by.Capacity, act)
	}
	return nil
}

// MayAddAccount is nil when the account may add one of a capacity. Who can read health reasons is decided by those who can: HR adds
// accounts of HR and no other, the coordinator all others, and the program, which is the command line on the machine itself, any.
func MayAddAccount(by groundhand.Account, c groundhand.Capacity) error {
	if err := May(by, ManageAccounts); err != nil {
		return err
	}
	if by.Capacity != program && (by.Capacity == hr) != (c == hr) {
		return groundhand.Forbidden("The capacity %s may not add an account of %s.", by.Capacity, c)
	}
	return nil
}

// recording is the act that records each kind of entry, by the table that keeps it.
var recording = map[string]Act{
	"workers": ManageWorkers, "worker_names": ManageWorkers, "employments": ManageWorkers, "gradings": ManageWorkers, "postings": ManageWorkers,
	"unavailabilities": ManageUnavailability, "unavailability_reasons": ManageWorkers, // HR alone
	"yards": ManageCrews, "roads": ManageCrews, "crews": ManageCrews, "memberships": LendWorkers,
	"families": ManageDevices, "devices": ManageDevices, "kits": ManageDevices, "kit_placings": ManageDevices, "inspections": Inspect,
	"sessions": BookSession, "bookings": BookSession, "plans": PlanRotation, "adoptions": AdoptPlan,
	"runs": RecordDrill, "run_parts": RecordDrill, "assessments": Assess, "outside_evidences": RecordEvidence,
	"authorities": GrantAuthority, "suspensions": Suspend, "liftings": Lift, "extensions": Extend, "provisionals": AcceptProvisionally,
	"rule_sets": ApproveRules, "certificates": IssueCertificate, "jobs": BookJob,
	"classings": ManageDevices, "defects": RaiseDefect, "briefings": Brief, "shifts": PlanShift, "decisions": Decide,
	"disputes": Dispute, "assessor_findings": ReviewEntries, "reviews": ReviewEntries, // a ruling or a closing stands: what is wrong is taken up anew
	"rule_proposals": ProposeRules, "worker_numbers": ManageWorkers, "aliases": ManageWorkers, "merges": MergeWorkers, "holds": PlaceHold,
	"retentions": SetRetention, "real_events": ReportEvent, "column_mappings": SaveMapping,
}

// MayUndo is nil when the account may correct or withdraw an entry of a kind, as store.KindOf names it. Who records such entries may;
// the coordinator, who answers for the training records, may also withdraw an assessment, never correct one. A withdrawal is
// withdrawn by the coordinator.
func MayUndo(by groundhand.Account, act Act, kind string) error {
	if err := May(by, act); err != nil {
		return err
	}
	if by.Capacity == coordinator && act == Withdraw && (kind == "assessments" || kind == "withdrawals") {
		return nil
	}
	records, ok := recording[kind]
	if !ok {
		return groundhand.Forbidden("The capacity %s may not %s of this kind.", by.Capacity, act)
	}
	return May(by, records)
}

// MayIdentify is nil when the account may correct whom an entry of a kind is about. Besides those who may correct it anyhow that is HR for
// an assessment and a part in a run: HR says who somebody is, never how somebody did.
func MayIdentify(by groundhand.Account, kind string) error {
	if by.Capacity == hr && (kind == "assessments" || kind == "run_parts") {
		return May(by, Correct)
	}
	return MayUndo(by, Correct, kind)
}

func unauthenticated() error {
	return &groundhand.Error{Code: groundhand.CodeUnauthenticated, Message: "Show a token that is good."}
}

// String names the reach.
func (r Reach) String() string { return [...]string{"nobody", "self", "own crew", "everybody"}[r] }
