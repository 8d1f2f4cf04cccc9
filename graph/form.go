package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// Lists of a form that are kept in one column have a type of their own in the vocabulary; these fill them in.
// Where a form has a kind of its own, what was wrong with the entry that it corrects goes by a longer name.

type (
	assessmentForm  struct{}
	authorityForm   struct{}
	bookingForm     struct{}
	briefingForm    struct{}
	crewForm        struct{}
	inspectionForm  struct{}
	jobForm         struct{}
	rotationForm    struct{}
	runForm         struct{}
	seatForm        struct{}
	sessionForm     struct{}
	slotForm        struct{}
	unavailableForm struct{}
	realEventForm   struct{}
)

// AssessmentForm fills in its lists.
func (r *Root) AssessmentForm() generated.AssessmentFormResolver { return assessmentForm{} }

// AuthorityForm fills in its lists.
func (r *Root) AuthorityForm() generated.AuthorityFormResolver { return authorityForm{} }

// BookingForm fills in its lists.
func (r *Root) BookingForm() generated.BookingFormResolver { return bookingForm{} }

// BriefingForm fills in its lists.
func (r *Root) BriefingForm() generated.BriefingFormResolver { return briefingForm{} }

// CrewForm fills in its lists.
func (r *Root) CrewForm() generated.CrewFormResolver { return crewForm{} }

// InspectionForm fills in its lists.
func (r *Root) InspectionForm() generated.InspectionFormResolver { return inspectionForm{} }

// JobForm fills in its lists.
func (r *Root) JobForm() generated.JobFormResolver { return jobForm{} }

// RotationForm fills in its lists.
func (r *Root) RotationForm() generated.RotationFormResolver { return rotationForm{} }

// RunForm fills in its lists.
func (r *Root) RunForm() generated.RunFormResolver { return runForm{} }

// SeatForm fills in its lists.
func (r *Root) SeatForm() generated.SeatFormResolver { return seatForm{} }

// SessionForm fills in its lists.
func (r *Root) SessionForm() generated.SessionFormResolver { return sessionForm{} }

// SlotForm fills in its lists.
func (r *Root) SlotForm() generated.SlotFormResolver { return slotForm{} }

// UnavailableForm fills in what was wrong with the entry that it corrects.
func (r *Root) UnavailableForm() generated.UnavailableFormResolver { return unavailableForm{} }

// RealEventForm fills in the same.
func (r *Root) RealEventForm() generated.RealEventFormResolver { return realEventForm{} }

func (assessmentForm) Steps(_ context.Context, f *training.AssessmentForm, data []groundhand.CriticalStep) error {
	f.Steps = data
	return nil
}

func (authorityForm) Methods(_ context.Context, f *training.AuthorityForm, data []groundhand.Method) error {
	f.Methods = texts(data)
	return nil
}

func (authorityForm) Families(_ context.Context, f *training.AuthorityForm, data []string) error {
	f.Families = data
	return nil
}

func (bookingForm) Renews(_ context.Context, f *training.BookingForm, data []groundhand.Method) error {
	f.Renews = texts(data)
	return nil
}

func (crewForm) Families(_ context.Context, f *training.CrewForm, data []string) error {
	f.Families = data
	return nil
}

func (inspectionForm) Lines(_ context.Context, f *training.InspectionForm, data []groundhand.InspectionLine) error {
	f.Lines = data
	return nil
}

func (briefingForm) Aloft(_ context.Context, f *training.BriefingForm, data []string) error {
	f.Aloft = data
	return nil
}

func (jobForm) Buckets(_ context.Context, f *training.JobForm, data []int) error {
	f.Buckets = data
	return nil
}

func (jobForm) Methods(_ context.Context, f *training.JobForm, data []groundhand.Method) error {
	f.Methods = texts(data)
	return nil
}

func (jobForm) PlannedAloft(_ context.Context, f *training.JobForm, data []string) error {
	f.PlannedAloft = data
	return nil
}

func (jobForm) Duties(_ context.Context, f *training.JobForm, data []groundhand.Duty) error {
	f.Duties = data
	return nil
}

func (rotationForm) Methods(_ context.Context, f *training.RotationForm, data []groundhand.Method) error {
	f.Methods = texts(data)
	return nil
}

func (runForm) Marks(_ context.Context, f *training.RunForm, data []groundhand.StageMark) error {
	f.Marks = data
	return nil
}

func (runForm) Steps(_ context.Context, f *training.RunForm, data []groundhand.CriticalStep) error {
	f.Steps = data
	return nil
}

func (seatForm) Renews(_ context.Context, f *training.SeatForm, data []groundhand.Method) error {
	f.Renews = texts(data)
	return nil
}

func (sessionForm) Methods(_ context.Context, f *training.SessionForm, data []groundhand.Method) error {
	f.Methods = texts(data)
	return nil
}

func (slotForm) Methods(_ context.Context, f *training.SlotForm, data []groundhand.Method) error {
	f.Methods = texts(data)
	return nil
}

func (inspectionForm) CorrectionKind(_ context.Context, f *training.InspectionForm, data *groundhand.CorrectionKind) error {
	f.Entry.Kind = or(data)
	return nil
}

func (crewForm) CorrectionKind(_ context.Context, f *training.CrewForm, data *groundhand.CorrectionKind) error {
	f.Entry.Kind = or(data)
	return nil
}

func (unavailableForm) CorrectionKind(_ context.Context, f *training.UnavailableForm, data *groundhand.CorrectionKind) error {
	f.Entry.Kind = or(data)
	return nil
}

func (realEventForm) CorrectionKind(_ context.Context, f *training.RealEventForm, data *groundhand.CorrectionKind) error {
	f.Entry.Kind = or(data)
	return nil
}

type (
	adoptionForm struct{}
	assessorForm struct{}
	offerForm    struct{}
	pinForm      struct{}
)

// AdoptionForm fills in its list.
func (r *Root) AdoptionForm() generated.AdoptionFormResolver { return adoptionForm{} }

// AssessorForm fills in its lists.
func (r *Root) AssessorForm() generated.AssessorFormResolver { return assessorForm{} }

// OfferForm fills in its lists.
func (r *Root) OfferForm() generated.OfferFormResolver { return offerForm{} }

// PinForm fills in its list.
func (r *Root) PinForm() generated.PinFormResolver { return pinForm{} }

func (adoptionForm) Slots(_ context.Context, f *training.AdoptionForm, data []string) error {
	f.Slots = data
	return nil
}

func (assessorForm) Methods(_ context.Context, f *training.AssessorForm, data []groundhand.Method) error {
	f.Methods = texts(data)
	return nil
}

func (assessorForm) Families(_ context.Context, f *training.AssessorForm, data []string) error {
	f.Families = data
	return nil
}

func (offerForm) Weekdays(_ context.Context, f *training.OfferForm, data []string) error {
	f.Weekdays = data
	return nil
}

func (offerForm) Parts(_ context.Context, f *training.OfferForm, data []string) error {
	f.Parts = data
	return nil
}

func (offerForm) Yards(_ context.Context, f *training.OfferForm, data []string) error {
	f.Yards = data
	return nil
}

func (pinForm) Methods(_ context.Context, f *training.PinForm, data []groundhand.Method) error {
	f.Methods = texts(data)
	return nil
}

func (rotationForm) ForbidSlots(_ context.Context, f *training.RotationForm, data []string) error {
	f.ForbidSlots = data
	return nil
}
