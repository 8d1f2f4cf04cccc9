package main

import (
	"context"
	"errors"
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
func (c *sweepCmd) Run() (err error) {
	h, err := c.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.close()) }()
	on := h.roll.Today()
	if c.On != "" {
		if on, err = groundhand.ParseDate(c.On); err != nil {
			return faulty(err)
		}
	}
	result, err := h.sweeper.Sweep(context.Background(), on, true)
	if err != nil {
		return faulty(err)
	}
	return h.printSweep(os.Stdout, result)
}

var flagWords = map[groundhand.FlagKind]string{
	groundhand.PracticeLapsed:  "aerial-rescue practice not current",
	groundhand.LastGoodDayNear: "last good day near",
	groundhand.CrewBelowTwo:    "fewer than two trained rescuers",
	groundhand.NoGroundCover:   "no choice of who goes aloft leaves a rescuer on the ground",
}

func (h *house) printSweep(out io.Writer, r watch.Result) error {
	names, err := h.records.NamesOn(context.Background(), nil, r.Sweep.Day)
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
