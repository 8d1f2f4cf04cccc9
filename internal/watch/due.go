package watch

import (
	"context"
	"fmt"
	"log/slog"
	"time"

	"github.com/robfig/cron/v3"

	"groundhand/internal/groundhand"
)

// The sweep of a business day is due at ten past three of its morning: after every usual clock change, and before the first job briefing.
const (
	dueHour   = 3
	dueMinute = 10
)

// tick is how often the record of sweeps is asked what is due.
const tick = 5 * time.Minute

// due lists the business days to sweep at a moment, oldest first: every day after the last one swept whose hour has come. Before the
// first sweep only the latest due day is looked at; there is nothing to catch up with.
func due(now time.Time, zone *time.Location, last groundhand.Date) []groundhand.Date {
	latest := groundhand.DateOf(now.In(zone))
	if now.Before(dueAt(latest, zone)) {
		latest--
	}
	first := last + 1
	if last == 0 {
		first = latest
	}
	var days []groundhand.Date
	for d := first; d <= latest; d++ {
		days = append(days, d)
	}
	return days
}

// dueAt is when the sweep of a day is due. Where the clock skips ten past three the moment an hour off is as good: the record of sweeps,
// not the moment, keeps a day from being swept twice or never.
func dueAt(d groundhand.Date, zone *time.Location) time.Time {
	y, m, day := d.Civil()
	return time.Date(y, m, day, dueHour, dueMinute, 0, 0, zone)
}

// CatchUp sweeps every day that is due and was not swept, oldest first, and says which it swept. A day that cannot be swept, such as one
// without a rule set in force, stops it there; a sweep of a later day by hand goes past it. When a day ahead of today was swept, the clock
// was wrong then or is wrong now: that is a Conflict, because the watch would else be silent until that day comes.
func (w *Sweeper) CatchUp(ctx context.Context) ([]groundhand.Date, error) {
	last, _, err := w.store.LastSweep(ctx)
	if err != nil {
		return nil, err
	}
	if today := w.roll.Today(); last.Day > today {
		return nil, groundhand.Conflict("on", "The watch has looked at %s, but the clock says it is %s; set the clock right.", last.Day.Words(), today.Words())
	}
	days := due(w.store.Now().Time(), w.roll.Zone(), last.Day)
	for i, d := range days {
		if err := ctx.Err(); err != nil {
			return days[:i], err
		}
		if _, err := w.Sweep(ctx, d, false); err != nil {
			return days[:i], fmt.Errorf("sweep of %s: %w", d, err)
		}
	}
	return days, nil
}

// Run catches up at once and then with every tick until the context ends; it returns when nothing of it runs any more. A failure, also a
// panic, is logged and tried again at the next tick.
func (w *Sweeper) Run(ctx context.Context, log *slog.Logger) {
	logged := cron.PrintfLogger(slog.NewLogLogger(log.Handler(), slog.LevelError))
	// Skip outside, Recover inside: the other way round a panic would keep the job from ever running again.
	job := cron.NewChain(cron.SkipIfStillRunning(logged), cron.Recover(logged)).Then(cron.FuncJob(func() { w.try(ctx, log) }))
	job.Run()
	ticker := cron.New(cron.WithLocation(time.UTC), cron.WithLogger(logged))
	ticker.Schedule(cron.Every(tick), job)
	ticker.Start()
	<-ctx.Done()
	<-ticker.Stop().Done()
}

func (w *Sweeper) try(ctx context.Context, log *slog.Logger) {
	days, err := w.CatchUp(ctx)
	if err != nil && ctx.Err() == nil {
		log.Error("the sweep failed and is tried again", "error", err)
	}
	if len(days) > 0 {
		log.Info("swept", "days", len(days), "last", days[len(days)-1].String())
	}
}
