package training

import (
	"context"
	"fmt"
	"reflect"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

func TestSameKeySameFormIsOnce(t *testing.T) {
	sc := newScene(t)
	f := sc.drill()
	f.Runs = append(f.Runs, sc.run())
	first, err := sc.desk.RecordDrill(sc.ctx, sc.coordinator, "k", f)
	require.NoError(t, err)
	before := sc.rows()

	again, err := sc.desk.RecordDrill(sc.ctx, sc.coordinator, "k", f)
	require.NoError(t, err)
	assert.Equal(t, first, again)
	assert.Equal(t, before, sc.rows())

	booked, err := sc.desk.BookSession(sc.ctx, sc.coordinator, "b", sc.session())
	require.NoError(t, err)
	must(sc, sc.desk.BookSeat, BookingForm{SessionID: booked.Session.ID, WorkerID: sc.keahi})
	bookedAgain, err := sc.desk.BookSession(sc.ctx, sc.coordinator, "b", sc.session())
	require.NoError(t, err)
	assert.Equal(t, booked, bookedAgain, "the first answer, not what was booked since")
}

func TestSameKeyOtherFormIsRefused(t *testing.T) {
	sc := newScene(t)
	_, err := sc.desk.RecordDrill(sc.ctx, sc.coordinator, "k", sc.drill())
	require.NoError(t, err)
	sc.refused(func() error {
		_, err := sc.desk.RecordDrill(sc.ctx, sc.coordinator, "k", sc.drill(func(r *RunForm) { r.Dark = true }))
		return err
	}, "CONFLICT key")
	sc.refused(func() error {
		_, err := sc.desk.BookSession(sc.ctx, sc.coordinator, "k", sc.session())
		return err
	}, "CONFLICT key")
	f := sc.drill()
	f.Runs[0].At++ // one millisecond
	sc.refused(func() error { _, err := sc.desk.RecordDrill(sc.ctx, sc.coordinator, "k", f); return err }, "CONFLICT key")
}

func TestSameKeyOfAnotherAccountIsAnotherKey(t *testing.T) {
	sc := newScene(t)
	_, err := sc.desk.RecordDrill(sc.ctx, sc.coordinator, "k", sc.drill())
	require.NoError(t, err)
	_, err = sc.desk.RecordDrill(sc.ctx, sc.assessor, "k", sc.drill())
	require.NoError(t, err)
	assert.Equal(t, 2, sc.rows()["runs"])
}

func TestAKeyIsNeeded(t *testing.T) {
	sc := newScene(t)
	for _, key := range []string{"", "a\nb", string(make([]byte, 201))} {
		sc.refused(func() error { _, err := sc.desk.RecordDrill(sc.ctx, sc.coordinator, key, sc.drill()); return err }, "INVALID key")
	}
}

func TestARefusedKeyIsStillFree(t *testing.T) {
	sc := newScene(t)
	f := sc.drill(func(r *RunForm) { r.KitID = "K9" })
	sc.refused(func() error { _, err := sc.desk.RecordDrill(sc.ctx, sc.coordinator, "k", f); return err }, "NOT_FOUND runs[0].kitId")
	_, err := sc.desk.RecordDrill(sc.ctx, sc.coordinator, "k", sc.drill())
	assert.NoError(t, err)
}

func TestSameKeyFromManyAtOnceWritesOnce(t *testing.T) {
	sc := newScene(t)
	const many = 8
	made, errs := make([]Drill, many), make([]error, many)
	f := sc.drill()
	var all sync.WaitGroup
	for i := range many {
		all.Go(func() { made[i], errs[i] = sc.desk.RecordDrill(sc.ctx, sc.coordinator, "k", f) })
	}
	all.Wait()
	for i := range many {
		require.NoError(t, errs[i])
		assert.Equal(t, made[0], made[i])
	}
	assert.Equal(t, 1, sc.rows()["runs"])
	assert.Equal(t, 3, sc.rows()["parts"])
}

func TestOneSeatForManyAtOnce(t *testing.T) {
	sc := newScene(t)
	s := must(sc, sc.desk.BookSession, sc.session(func(f *SessionForm) { f.Seats, f.Bookings = 1, nil }))
	people := []groundhand.WorkerID{sc.maren, sc.tomasz, sc.keahi, sc.gideon}
	errs := make([]error, len(people))
	var all sync.WaitGroup
	for i, who := range people {
		all.Go(func() {
			_, errs[i] = sc.desk.BookSeat(sc.ctx, sc.coordinator, fmt.Sprint("seat", i), BookingForm{SessionID: s.Session.ID, WorkerID: who})
		})
	}
	all.Wait()
	refused := 0
	for _, err := range errs {
		if err != nil {
			require.ErrorIs(t, err, groundhand.CodeConflict)
			refused++
		}
	}
	assert.Equal(t, len(people)-1, refused)
	assert.Equal(t, 1, sc.rows()["bookings"])
}

func TestAFailureHalfWayLeavesNothing(t *testing.T) {
	sc := newScene(t)
	before := sc.rows()
	ctx, cancel := context.WithCancel(sc.ctx)
	err := sc.store.InTx(ctx, func(tx *store.Store) error {
		in := &entering{fields: fields{now: tx.Now(), zone: sc.zone}, ctx: ctx, tx: tx, by: sc.coordinator}
		sc.drill().enter(in)
		in.rows = append(in.rows[:1:1], func() error { cancel(); return ctx.Err() }) // the runs are written, then it breaks
		return in.write(groundhand.Act{Key: "k", AccountID: sc.coordinator.ID})
	})
	require.ErrorIs(t, err, context.Canceled)
	assert.Equal(t, before, sc.rows())
}

func TestEveryRecordSaysWhoToldIt(t *testing.T) {
	sc := newScene(t)
	f := sc.drill(func(r *RunForm) { r.CameBy = groundhand.Offline })
	drill := must(sc, sc.desk.RecordDrill, f)
	for _, told := range []groundhand.Recorded{drill.Runs[0].Recorded, drill.Parts[0].Recorded} {
		assert.Equal(t, groundhand.MustDate("2025-06-10"), told.HappenedOn)
		assert.Equal(t, sc.moment("2025-06-10", 9, 0), told.HappenedAt)
		assert.Equal(t, today, groundhand.DateOf(told.RecordedAt.In(sc.zone)))
		assert.Equal(t, sc.henrike, told.AuthorID)
		assert.Equal(t, groundhand.Coordinator, told.Capacity)
		assert.Equal(t, groundhand.Offline, told.CameBy)
	}
	assert.Equal(t, groundhand.FamilyID("F1"), drill.Runs[0].FamilyID, "the family is the device's")
}

// The digest of a form is taken of what Go writes for it: a pointer would write an address, a map has no order.
func TestFormsHoldNoPointersAndNoMaps(t *testing.T) {
	for _, f := range []any{
		YardForm{}, RoadForm{}, FamilyForm{}, DeviceForm{}, KitForm{}, PlaceForm{}, WorkerForm{}, NameForm{}, GradeForm{}, PostForm{}, EmployForm{},
		CrewForm{}, MembershipForm{}, UnavailableForm{}, AuthorityForm{}, SessionForm{}, BookingForm{}, DrillForm{}, PartCorrection{},
		AssessmentForm{}, OutsideForm{}, SuspensionForm{}, LiftingForm{}, ExtensionForm{}, ProvisionalForm{}, InspectionForm{}, RuleSetForm{},
		JobForm{}, WithdrawalForm{}, RotationForm{}, AdoptionForm{}, DisputeForm{}, RulingForm{}, FindingForm{}, ReviewForm{}, ReviewClosingForm{},
		RuleProposalForm{}, RuleApprovalForm{}, RealEventForm{},
	} {
		plain(t, reflect.TypeOf(f), reflect.TypeOf(f).Name())
	}
}

func plain(t *testing.T, of reflect.Type, path string) {
	switch of.Kind() {
	case reflect.Struct:
		for i := range of.NumField() {
			plain(t, of.Field(i).Type, path+"."+of.Field(i).Name)
		}
	case reflect.Slice:
		plain(t, of.Elem(), path+"[]")
	case reflect.Pointer, reflect.Map, reflect.Interface, reflect.Func, reflect.Chan:
		t.Errorf("%s is a %s", path, of.Kind())
	}
}
