package rollcall_test

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

// stormCompany is 40 crews of five with ten devices and kits on two control families, a job for every crew on one of the devices, and an assessor on shift.
func stormCompany(b *testing.B) *rollcall.Roll {
	ctx := context.Background()
	s := storetest.At(b, filepath.Join(b.TempDir(), "records.db"), storetest.NewClock("2025-06-11T06:00:00Z"))
	fillCompany(b, s, 200)
	told := groundhand.Recorded{HappenedOn: day("2025-06-10"), RecordedAt: groundhand.InstantOf(time.Date(2025, 6, 10, 17, 0, 0, 0, time.UTC)), AuthorID: "desk", Capacity: groundhand.Coordinator,
		CameBy: groundhand.TypedLive}
	put := func(err error) { require.NoError(b, err) }
	id := func() groundhand.EntryID { return groundhand.EntryID(s.NewID()) }
	at := func(hour int) groundhand.Instant {
		return groundhand.InstantOf(time.Date(2025, 6, 11, hour, 0, 0, 0, time.UTC))
	}
	for i := range 10 {
		device, kit := groundhand.DeviceID(fmt.Sprintf("A%02d", i)), groundhand.KitID(fmt.Sprintf("K%02d", i))
		put(store.Add(ctx, s, groundhand.Device{ID: device, Recorded: told, FamilyID: groundhand.FamilyID([]string{"F1", "F3"}[i%2]), YardID: "Y1", AnchorCM: 1200, EmergencyLow: groundhand.Yes}))
		put(store.Add(ctx, s, groundhand.Kit{ID: kit, Recorded: told, Parts: 4, RopeCM: 6000, TailCM: 400, RatedLoadKG: 200, InServiceOn: day("2024-01-01")}))
		placed := groundhand.KitPlacing{ID: id(), Recorded: told, KitID: kit, DeviceID: device}
		if i%3 == 0 {
			placed.DeviceID, placed.YardID = "", "Y1"
		}
		put(store.Add(ctx, s, placed))
		for _, kind := range []groundhand.InspectionKind{groundhand.WeeklyOutside, groundhand.MonthlyInside, groundhand.Yearly} {
			put(store.Add(ctx, s, groundhand.Inspection{ID: id(), Recorded: told, KitID: kit, Kind: kind, Result: groundhand.InService}))
		}
		for _, kind := range []groundhand.InspectionKind{groundhand.DeviceMonthly, groundhand.Yearly} {
			put(store.Add(ctx, s, groundhand.Inspection{ID: id(), Recorded: told, DeviceID: device, Kind: kind, Result: groundhand.InService}))
		}
	}
	put(store.Add(ctx, s, groundhand.Shift{ID: id(), Recorded: told, WorkerID: "W00000", YardID: "Y1", FromAt: at(6), ToAt: at(20)}))
	for i := range 40 {
		put(store.Add(ctx, s, groundhand.Job{ID: groundhand.JobID(fmt.Sprintf("J%02d", i)), Recorded: told, CrewID: groundhand.CrewID(fmt.Sprintf("C%04d", i)), YardID: "Y1", StartAt: at(30), EndAt: at(38),
			DeviceID: "A02", Aloft: 1, Methods: groundhand.List{"PAIR_KIT"}, Near50V: groundhand.Yes, SiteKind: groundhand.FieldSite, CallPlan: groundhand.Yes}))
	}
	return rollcall.New(s, time.UTC)
}

// BenchmarkGrid answers for 40 crews of five on ten devices in four kinds of job, 1,600 cells, and tries every single change.
func BenchmarkGrid(b *testing.B) {
	roll := stormCompany(b)
	from := groundhand.InstantOf(time.Date(2025, 6, 11, 8, 0, 0, 0, time.UTC))
	for b.Loop() {
		g, err := roll.Grid(context.Background(), rollcall.GridQuestion{FromAt: from, UntilAt: from + 22*60*60_000})
		require.NoError(b, err)
		require.Len(b, g.Rows, 40)
		b.ReportMetric(float64(g.LeftOut), "left-out")
		b.ReportMetric(float64(len(g.Unlocks)), "unlocks")
	}
}

// BenchmarkEffect takes the kit of 40 jobs away and searches changes for twenty of them.
func BenchmarkEffect(b *testing.B) {
	roll := stormCompany(b)
	for b.Loop() {
		e, err := roll.Effect(context.Background(), rollcall.Event{At: groundhand.InstantOf(time.Date(2025, 6, 11, 8, 0, 0, 0, time.UTC)), KitID: "K02"})
		require.NoError(b, err)
		require.Len(b, e.Jobs, 40)
		require.Equal(b, 20, e.LeftOut)
	}
}
