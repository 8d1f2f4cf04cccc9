package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// The changes that are one form and one record: each is one call to the desk.

// made gives a pointer to what was made or found, or the error alone.
func made[T any](v T, err error) (*T, error) {
	if err != nil {
		return nil, err
	}
	return &v, nil
}

func (m mutation) AddYard(ctx context.Context, key string, form training.YardForm) (*groundhand.Yard, error) {
	return made(m.Desk.AddYard(ctx, viewer(ctx), key, form))
}

func (m mutation) AddRoad(ctx context.Context, key string, form training.RoadForm) (*groundhand.Road, error) {
	return made(m.Desk.AddRoad(ctx, viewer(ctx), key, form))
}

func (m mutation) AddFamily(ctx context.Context, key string, form training.FamilyForm) (*groundhand.Family, error) {
	return made(m.Desk.AddFamily(ctx, viewer(ctx), key, form))
}

func (m mutation) AddDevice(ctx context.Context, key string, form training.DeviceForm) (*groundhand.Device, error) {
	return made(m.Desk.AddDevice(ctx, viewer(ctx), key, form))
}

func (m mutation) AddKit(ctx context.Context, key string, form training.KitForm) (*groundhand.Kit, error) {
	return made(m.Desk.AddKit(ctx, viewer(ctx), key, form))
}

func (m mutation) PlaceKit(ctx context.Context, key string, form training.PlaceForm) (*groundhand.KitPlacing, error) {
	return made(m.Desk.PlaceKit(ctx, viewer(ctx), key, form))
}

func (m mutation) Inspect(ctx context.Context, key string, form training.InspectionForm) (*groundhand.Inspection, error) {
	return made(m.Desk.Inspect(ctx, viewer(ctx), key, form))
}

func (m mutation) AddWorker(ctx context.Context, key string, form training.WorkerForm) (*groundhand.Worker, error) {
	return made(m.Desk.AddWorker(ctx, viewer(ctx), key, form))
}

func (m mutation) RenameWorker(ctx context.Context, key string, form training.NameForm) (*groundhand.WorkerName, error) {
	return made(m.Desk.RenameWorker(ctx, viewer(ctx), key, form))
}

func (m mutation) GradeWorker(ctx context.Context, key string, form training.GradeForm) (*groundhand.Grading, error) {
	return made(m.Desk.GradeWorker(ctx, viewer(ctx), key, form))
}

func (m mutation) PostWorker(ctx context.Context, key string, form training.PostForm) (*groundhand.Posting, error) {
	return made(m.Desk.PostWorker(ctx, viewer(ctx), key, form))
}

func (m mutation) EmployWorker(ctx context.Context, key string, form training.EmployForm) (*groundhand.Employment, error) {
	return made(m.Desk.EmployWorker(ctx, viewer(ctx), key, form))
}

func (m mutation) SetUnavailable(ctx context.Context, key string, form training.UnavailableForm) (*groundhand.Unavailability, error) {
	return made(m.Desk.SetUnavailable(ctx, viewer(ctx), key, form))
}

func (m mutation) AddCrew(ctx context.Context, key string, form training.CrewForm) (*groundhand.Crew, error) {
	return made(m.Desk.AddCrew(ctx, viewer(ctx), key, form))
}

func (m mutation) JoinCrew(ctx context.Context, key string, form training.MembershipForm) (*groundhand.Membership, error) {
	return made(m.Desk.JoinCrew(ctx, viewer(ctx), key, form))
}

func (m mutation) GrantAuthority(ctx context.Context, key string, form training.AuthorityForm) (*groundhand.Authority, error) {
	return made(m.Desk.GrantAuthority(ctx, viewer(ctx), key, form))
}

func (m mutation) BookSeat(ctx context.Context, key string, form training.BookingForm) (*groundhand.Booking, error) {
	return made(m.Desk.BookSeat(ctx, viewer(ctx), key, form))
}

func (m mutation) CorrectPart(ctx context.Context, key string, form training.PartCorrection) (*groundhand.RunPart, error) {
	return made(m.Desk.CorrectPart(ctx, viewer(ctx), key, form))
}

func (m mutation) Assess(ctx context.Context, key string, form training.AssessmentForm) (*groundhand.Assessment, error) {
	return made(m.Desk.Assess(ctx, viewer(ctx), key, form))
}

func (m mutation) RecordOutside(ctx context.Context, key string, form training.OutsideForm) (*groundhand.OutsideEvidence, error) {
	return made(m.Desk.RecordOutside(ctx, viewer(ctx), key, form))
}

func (m mutation) Suspend(ctx context.Context, key string, form training.SuspensionForm) (*groundhand.Suspension, error) {
	return made(m.Desk.Suspend(ctx, viewer(ctx), key, form))
}

func (m mutation) Lift(ctx context.Context, key string, form training.LiftingForm) (*groundhand.Lifting, error) {
	return made(m.Desk.Lift(ctx, viewer(ctx), key, form))
}

func (m mutation) Extend(ctx context.Context, key string, form training.ExtensionForm) (*groundhand.Extension, error) {
	return made(m.Desk.Extend(ctx, viewer(ctx), key, form))
}

func (m mutation) AcceptProvisionally(ctx context.Context, key string, form training.ProvisionalForm) (*groundhand.Provisional, error) {
	return made(m.Desk.AcceptProvisionally(ctx, viewer(ctx), key, form))
}

func (m mutation) BookJob(ctx context.Context, key string, form training.JobForm) (*groundhand.Job, error) {
	return made(m.Desk.BookJob(ctx, viewer(ctx), key, form))
}

func (m mutation) ClassDevice(ctx context.Context, key string, form training.ClassingForm) (*groundhand.Classing, error) {
	return made(m.Desk.ClassDevice(ctx, viewer(ctx), key, form))
}

func (m mutation) RaiseDefect(ctx context.Context, key string, form training.DefectForm) (*groundhand.Defect, error) {
	return made(m.Desk.RaiseDefect(ctx, viewer(ctx), key, form))
}

func (m mutation) Brief(ctx context.Context, key string, form training.BriefingForm) (*groundhand.Briefing, error) {
	return made(m.Desk.Brief(ctx, viewer(ctx), key, form))
}

func (m mutation) PlanShift(ctx context.Context, key string, form training.ShiftForm) (*groundhand.Shift, error) {
	return made(m.Desk.PlanShift(ctx, viewer(ctx), key, form))
}

func (m mutation) Decide(ctx context.Context, key string, form training.DecisionForm) (*groundhand.Decision, error) {
	return made(m.Desk.Decide(ctx, viewer(ctx), key, form))
}

func (m mutation) Withdraw(ctx context.Context, key string, form training.WithdrawalForm) (*groundhand.Withdrawal, error) {
	return made(m.Desk.Withdraw(ctx, viewer(ctx), key, form))
}

func (m mutation) BookSession(ctx context.Context, key string, form training.SessionForm) (*generated.BookedSession, error) {
	booked, err := m.Desk.BookSession(ctx, viewer(ctx), key, form)
	if err != nil {
		return nil, err
	}
	return &generated.BookedSession{Session: &booked.Session, Bookings: booked.Bookings}, nil
}

func (m mutation) RecordDrill(ctx context.Context, key string, form training.DrillForm) (*generated.RecordedDrill, error) {
	drill, err := m.Desk.RecordDrill(ctx, viewer(ctx), key, form)
	if err != nil {
		return nil, err
	}
	return &generated.RecordedDrill{Runs: drill.Runs}, nil
}
