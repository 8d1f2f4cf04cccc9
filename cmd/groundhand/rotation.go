package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"time"

	"groundhand/internal/groundhand"
	"groundhand/internal/rotation"
)

// exitNoPlan is the status when no plan keeps all pins, or no run sheet gives everybody what he needs.
const exitNoPlan = 3

// maxProblem bounds a file of a planning problem, in bytes; 20,000 workers take about 20 MB.
const maxProblem = 128 << 20

// rotationCmd suggests a drill rotation, or the run sheet of one session, from a file to a file, without a database.
type rotationCmd struct {
	Problem string        `help:"File of the planning problem, format drill-plan-problem/1." placeholder:"FILE"`
	Sheet   string        `help:"File of the problem of a run sheet, format drill-sheet-problem/1." placeholder:"FILE"`
	Out     string        `required:"" help:"File to write to: the plan, format drill-plan/1, or the sheet, format drill-sheet/1, or as plain text for the wall if the name ends in .txt; - is standard output." placeholder:"FILE"`
	Seed    uint64        `default:"1" help:"The same problem and seed give the same answer, unless the time runs out first."`
	For     time.Duration `default:"10s" help:"Stop after this time with the best so far; so does an interrupt."`
}

// Run ends with status 2 when what is asked or a file is faulty, and 3 when no plan or no sheet fits. Nothing is written then.
func (c *rotationCmd) Run() error {
	switch {
	case c.Problem == "" && c.Sheet == "":
		return &exitError{exitFaulty, errors.New("rotation: name a file with --problem, or with --sheet")}
	case c.Problem != "" && c.Sheet != "":
		return &exitError{exitFaulty, errors.New("rotation: give --problem or --sheet, and not both")}
	case c.For <= 0:
		return &exitError{exitFaulty, fmt.Errorf("--for must be a time like 10s, not %s", c.For)}
	}
	interrupted, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	ctx, cancel := context.WithTimeout(interrupted, c.For)
	defer cancel()
	if c.Sheet != "" {
		return c.order(ctx)
	}
	return c.suggest(ctx)
}

// suggest writes a plan.
func (c *rotationCmd) suggest(ctx context.Context) error {
	p, err := readProblem(c.Problem, rotation.Decode)
	if err != nil {
		return err
	}
	progress := newProgress(os.Stderr)
	plan, err := rotation.Suggest(ctx, p, rotation.Options{Seed: c.Seed, For: c.For, Report: func(at rotation.Progress) {
		progress.show(fmt.Sprintf("round %d of %d: %s", at.Round, at.Rounds, standing(figuresOfPlan(at.Best, &at.Bound))))
	}})
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
	if err = writeOut(c.Out, append(content, '\n')); err == nil {
		progress.end(figuresOfPlan(plan.Objective, &plan.Bound), planCaution)
	}
	return err
}

// planCaution stands beside a plan that is shown.
const planCaution = "A plan proposes dates for practice. Local rules, the maker's instructions and licensed practice come first."

func figuresOfPlan(best rotation.Objective, bound *rotation.Objective) []figure {
	if bound == nil {
		return figures(rotation.LevelNames, best.Levels(), nil)
	}
	least := bound.Levels()
	return figures(rotation.LevelNames, best.Levels(), &least)
}

// readProblem reads a file and gives every faulty field the status for what was handed in faulty.
func readProblem[P any](name string, decode func([]byte) (P, error)) (P, error) {
	var none P
	content, err := readUpTo(name, maxProblem)
	if errors.Is(err, os.ErrNotExist) {
		return none, &exitError{exitFaulty, err}
	}
	if err != nil {
		return none, err
	}
	p, err := decode(content)
	if len(groundhand.Refusals(err)) > 0 {
		return p, &exitError{exitFaulty, fmt.Errorf("%s: the problem is faulty:\n%w", name, err)}
	}
	return p, err
}
