package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"golang.org/x/term"

	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
)

// exitNoPlan is the status when no plan keeps all pins.
const exitNoPlan = 3

// maxProblem bounds a file of a planning problem, in bytes; 20,000 workers take about 20 MB.
const maxProblem = 128 << 20

// rotationCmd suggests a drill rotation from a file to a file, without a database.
type rotationCmd struct {
	Problem string        `required:"" help:"File of the planning problem, format drill-plan-problem/1."`
	Out     string        `required:"" help:"File to write the plan to, format drill-plan/1; - is standard output."`
	Seed    uint64        `default:"1" help:"The same problem and seed give the same plan, unless the time runs out first."`
	For     time.Duration `default:"10s" help:"Stop after this time with the best plan so far."`
}

// Run ends with status 2 when the problem is faulty and 3 when no plan keeps all pins.
func (c *rotationCmd) Run() error {
	p, err := c.read()
	if err != nil {
		return err
	}
	progress := newProgress(os.Stderr)
	ctx, cancel := context.WithTimeout(context.Background(), c.For)
	defer cancel()
	plan, err := rotation.Suggest(ctx, p, rotation.Options{Seed: c.Seed, Report: progress.show})
	progress.end()
	if clash := (*rotation.PinClash)(nil); errors.As(err, &clash) {
		return &exitError{exitNoPlan, fmt.Errorf("%s: no feasible plan: %w", c.Problem, clash)}
	}
	if err != nil {
		return err
	}
	content, err := json.MarshalIndent(plan, "", " ")
	if err != nil {
		return err
	}
	return writeOut(c.Out, append(content, '\n'))
}

func (c *rotationCmd) read() (rotation.Problem, error) {
	if c.For <= 0 {
		return rotation.Problem{}, &exitError{exitFaulty, fmt.Errorf("--for must be a time like 10s, not %s", c.For)}
	}
	content, err := readUpTo(c.Problem, maxProblem)
	if errors.Is(err, os.ErrNotExist) {
		return rotation.Problem{}, &exitError{exitFaulty, err}
	}
	if err != nil {
		return rotation.Problem{}, err
	}
	p, err := rotation.Decode(content)
	if len(groundhand.Refusals(err)) > 0 {
		return p, &exitError{exitFaulty, fmt.Errorf("%s: the problem is faulty:\n%w", c.Problem, err)}
	}
	return p, err
}

// progress shows on a terminal how a long search goes; a quick one and a pipe stay quiet.
type progress struct {
	to      io.Writer
	started time.Time
	shown   time.Time
}

func newProgress(file *os.File) *progress {
	p := &progress{started: time.Now()}
	if term.IsTerminal(int(file.Fd())) {
		p.to = file
	}
	return p
}

func (p *progress) show(at rotation.Progress) {
	now := time.Now()
	if p.to == nil || now.Sub(p.started) < time.Second || now.Sub(p.shown) < time.Second/4 {
		return
	}
	p.shown = now
	fmt.Fprintf(p.to, "\r\033[Kround %d of %d: %d crew days short, %d lapsed days, session cost %d, %d minutes away",
		at.Round, at.Rounds, at.Best.CrewDaysShort, at.Best.LapsedDays, at.Best.SessionCost, at.Best.MinutesAway)
}

func (p *progress) end() {
	if p.to != nil && !p.shown.IsZero() {
		fmt.Fprintln(p.to, "\nA plan proposes dates for practice. Local rules, the maker's instructions and licensed practice come first.")
	}
}
