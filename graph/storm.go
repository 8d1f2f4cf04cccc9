package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

func (q query) StormGrid(ctx context.Context, ask generated.StormAsk) (*generated.StormGrid, error) {
	asked := rollcall.GridQuestion{FromAt: ask.From, UntilAt: ask.Until, YardID: groundhand.YardID(or(ask.Yard)), Crews: named[groundhand.CrewID](ask.Crews),
		Devices: named[groundhand.DeviceID](ask.Devices), Kinds: ask.Kinds, Looks: looksOf(ask.Looks), RuleSetID: groundhand.RuleSetID(or(ask.RuleSet))}
	if err := known[groundhand.Yard](ctx, q.Store, "ask.yard", or(ask.Yard)); err != nil {
		return nil, err
	}
	whole, err := ownCrews(ctx, &asked)
	if err != nil {
		return nil, err
	}
	g, err := q.Roll.Grid(ctx, asked)
	if err != nil {
		return nil, atField("ask", err)
	}
	out := &generated.StormGrid{From: g.FromAt, Until: g.UntilAt, RuleSetID: string(g.RuleSetID), Kinds: g.Kinds, Rows: make([]generated.GridRow, len(g.Rows)), Caution: rollcall.Caution}
	for i, row := range g.Rows {
		out.Rows[i] = generated.GridRow{Crew: &row.Crew, Relation: someOrNil(row.Relation), Cells: gridCells(row.Cells), Row: row}
	}
	if whole {
		out.Unlocks, out.LeftOut = unlocks(g.Unlocks), g.LeftOut
	}
	return out, nil
}

// ownCrews keeps a foreman's question to the crews led, and says whether the viewer reads the cover of all.
func ownCrews(ctx context.Context, asked *rollcall.GridQuestion) (whole bool, err error) {
	if access.ReachOf(viewer(ctx), access.ReadCover) == access.Everybody {
		return true, nil
	}
	circle, err := load(ctx).circle()
	if err != nil {
		return false, err
	}
	if len(asked.Crews) == 0 {
		asked.Crews = circle.Crews()
	}
	if len(asked.Crews) == 0 {
		return false, groundhand.Forbidden("A foreman reads the cover of the own crew, and leads none today.")
	}
	for _, crew := range asked.Crews {
		if err := circle.MayCrew(access.ReadCover, crew); err != nil {
			return false, err
		}
	}
	return false, nil
}

func gridCells(list []rollcall.GridCell) []generated.GridCell {
	out := make([]generated.GridCell, len(list))
	for i, c := range list {
		out[i] = generated.GridCell{DeviceID: string(c.DeviceID), Kind: c.Kind, Verdict: verdict(c.Verdict), HoldsUntil: c.HoldsUntil, Then: verdictOrNil(c.Then), AloftIDs: c.Aloft,
			Conditions: conditions(c.Conditions), LooksToMake: looksToMake(c.Looks), Findings: findings(c.Findings), Why: whyNot(c.Refused), Caution: rollcall.Caution}
	}
	return out
}

func unlocks(list []rollcall.Unlock) []generated.Unlock {
	out := make([]generated.Unlock, len(list))
	for i, u := range list {
		out[i] = generated.Unlock{Do: u.Do, KitID: string(u.KitID), DeviceID: string(u.DeviceID), Method: someOrNil(u.Method), FamilyID: string(u.FamilyID), StartAt: someOrNil(u.StartAt),
			From: u.From, Ready: append([]rollcall.CellID{}, u.Ready...), Conditional: append([]rollcall.CellID{}, u.Conditional...), Caution: rollcall.Caution, Change: u}
	}
	return out
}

type (
	gridRow  struct{ *Root }
	gridCell struct{ *Root }
	unlock   struct{ *Root }
)

// GridRow looks up who is in the crew and what is booked for it.
func (r *Root) GridRow() generated.GridRowResolver { return gridRow{r} }

// GridCell looks up who goes aloft.
func (r *Root) GridCell() generated.GridCellResolver { return gridCell{r} }

// Unlock looks up whom a change is about.
func (r *Root) Unlock() generated.UnlockResolver { return unlock{r} }

func (gridRow) Members(ctx context.Context, g *generated.GridRow) ([]groundhand.Worker, error) {
	return workersBy(ctx, g.Row.Members)
}

func (gridRow) Booked(ctx context.Context, g *generated.GridRow) ([]groundhand.Job, error) {
	if len(g.Row.Booked) == 0 {
		return []groundhand.Job{}, nil
	}
	return load(ctx).job.LoadAll(ctx, g.Row.Booked)
}

func (gridCell) Aloft(ctx context.Context, c *generated.GridCell) ([]groundhand.Worker, error) {
	return workersBy(ctx, c.AloftIDs)
}

func (u unlock) Words(ctx context.Context, obj *generated.Unlock) (string, error) {
	return u.said(ctx, func(name rollcall.NameOf) string { return rollcall.UnlockWords(obj.Change, name) })
}

func (unlock) Worker(ctx context.Context, u *generated.Unlock) (*groundhand.Worker, error) {
	return oneOrNone(ctx, load(ctx).worker, u.Change.WorkerID)
}

func (unlock) Lender(ctx context.Context, u *generated.Unlock) (*groundhand.Crew, error) {
	return oneOrNone(ctx, load(ctx).crew, u.Change.LenderID)
}

func (unlock) Crew(ctx context.Context, u *generated.Unlock) (*groundhand.Crew, error) {
	return oneOrNone(ctx, load(ctx).crew, u.Change.CrewID)
}

func (unlock) Assessor(ctx context.Context, u *generated.Unlock) (*groundhand.Worker, error) {
	return oneOrNone(ctx, load(ctx).worker, u.Change.AssessorID)
}

func (unlock) People(ctx context.Context, u *generated.Unlock) ([]groundhand.Worker, error) {
	return workersBy(ctx, u.Change.People)
}
