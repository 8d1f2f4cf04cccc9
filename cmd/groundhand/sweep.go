package main

import (
	"context"
	"fmt"
	"io"
	"os"

	"groundhand/internal/groundhand"
	"groundhand/internal/watch"
)

// sweepCmd looks for lapses for one day by hand.
type sweepCmd struct {
	recordsFlags
	On string `help:"The day, as 2025-06-12; today if left out."`
}

// Run ends with status 2 when the day cannot be swept; nothing is written then.
func (c *sweepCmd) Run() error {
	return c.with(func(ctx context.Context, h *house) error {
		on, err := h.roll.Today(), error(nil)
		if c.On != "" {
			on, err = groundhand.ParseDate(c.On)
		}
		if err != nil {
			return err
		}
		result, err := h.sweeper.Sweep(ctx, on, true)
		if err != nil {
			return err
		}
		return h.printSweep(ctx, os.Stdout, result)
	})
}

var flagWords = map[groundhand.FlagKind]string{
	groundhand.PracticeLapsed:  "aerial-rescue practice not current",
	groundhand.LastGoodDayNear: "last good day near",
	groundhand.CrewBelowTwo:    "fewer than two trained rescuers",
	groundhand.NoGroundCover:   "no choice of who goes aloft leaves a rescuer on the ground",
}

func (h *house) printSweep(ctx context.Context, out io.Writer, r watch.Result) error {
	names, err := h.records.NamesOn(ctx, nil, r.Sweep.Day)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "Sweep of %s: %d flags raised, %d cleared.\n", r.Sweep.Day.Words(), len(r.Raised), len(r.Cleared))
	for _, group := range []struct {
		verb  string
		flags []groundhand.Flag
	}{{"raised ", r.Raised}, {"cleared", r.Cleared}} {
		for _, f := range group.flags {
			who := names[f.WorkerID]
			if f.CrewID != "" {
				who = "crew " + string(f.CrewID)
			}
			fmt.Fprintf(out, "  %s  %s: %s\n", group.verb, who, flagWords[f.Kind])
		}
	}
	return nil
}
