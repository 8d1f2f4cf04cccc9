package graph

import (
	"context"
	"time"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/runsheet"
)

// sheetTime is how long the order of the runs is looked for at most; the best by then is shown.
const sheetTime = 5 * time.Second

func (q query) RunSheet(ctx context.Context, session string, seed *int) (*generated.RunSheet, error) {
	id := groundhand.SessionID(session)
	if err := mayReadSheet(ctx, id); err != nil {
		return nil, err
	}
	within, cancel := context.WithTimeout(ctx, sheetTime)
	defer cancel()
	sheet, err := q.Roll.RunSheet(within, id, uint64(or(seed)))
	if err != nil {
		return nil, err
	}
	out := &generated.RunSheet{Session: &sheet.Session, Parts: []generated.RunSheetPart{}, Caution: rollcall.RotationCaution}
	if out.Away, err = workersBy(ctx, sheet.Away); err != nil {
		return nil, err
	}
	for _, part := range sheet.Parts {
		told, err := sheetPart(ctx, part)
		if err != nil {
			return nil, err
		}
		out.Parts = append(out.Parts, told)
	}
	return out, nil
}

// mayReadSheet lets a foreman read the sheet of a session in which somebody of the own crew is booked.
func mayReadSheet(ctx context.Context, id groundhand.SessionID) error {
	if access.ReachOf(viewer(ctx), access.ReadRunSheets) == access.Everybody {
		return nil
	}
	booked, err := load(ctx).bookings.Load(ctx, id)
	if err != nil || len(booked) == 0 {
		return err // of an unknown or empty session there is nothing to tell
	}
	for _, b := range booked {
		if err = mayAbout(ctx, access.ReadRunSheets, b.WorkerID); err == nil {
			return nil
		}
	}
	return err
}

func sheetPart(ctx context.Context, part rollcall.RunSheetPart) (generated.RunSheetPart, error) {
	people := map[string]*groundhand.Worker{}
	for _, p := range part.Problem.People {
		people[p.ID] = nil
	}
	if err := lookUp(ctx, load(ctx).worker, people); err != nil {
		return generated.RunSheetPart{}, err
	}
	out := generated.RunSheetPart{Runs: make([]generated.SheetRun, len(part.Sheet.Runs)), Figures: make([]generated.SheetFigure, len(sheetLevels))}
	for i, run := range part.Sheet.Runs {
		out.Runs[i] = generated.SheetRun{Number: i + 1, Method: part.Methods[i], Lead: people[run.Lead], Second: people[run.Second], Lone: people[run.Lone], Timekeeper: people[run.Timekeeper]}
	}
	bound := part.Sheet.Bound.Levels()
	for i, n := range part.Sheet.Objective.Levels() {
		proved := i < part.Sheet.ProvedLevels
		out.Figures[i] = generated.SheetFigure{Level: sheetLevels[i], Figure: n, Bound: bound[i], Proved: proved, Words: rollcall.SheetWords(runsheet.LevelNames[i], n, proved)}
	}
	return out, nil
}

// sheetLevels are the figures of a sheet, in the order of runsheet.LevelNames.
var sheetLevels = [6]generated.SheetLevel{generated.SheetLevelRuns, generated.SheetLevelRepeatPairs, generated.SheetLevelPairCost,
	generated.SheetLevelBackToBack, generated.SheetLevelWaitSquares, generated.SheetLevelTimekeeperSpread}
