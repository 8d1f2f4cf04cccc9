package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

type drillThere struct{ *Root }

// DrillThere looks up whom a drill would serve.
func (r *Root) DrillThere() generated.DrillThereResolver { return drillThere{r} }

func (q query) DrillsAt(ctx context.Context, yardID string, on groundhand.Date) (*generated.DrillsAt, error) {
	yard, err := get[groundhand.Yard](ctx, q.Store, yardID)
	if err != nil {
		return nil, under("yardId", err)
	}
	found, err := q.Roll.DrillsAt(ctx, yard.ID, on)
	if err != nil {
		return nil, err
	}
	sessions, err := q.sessionsOf(ctx, found)
	if err != nil {
		return nil, err
	}
	assessors := map[string]*groundhand.Worker{}
	for _, d := range found {
		assessors[string(d.AssessorID)] = nil
	}
	if err := lookUp(ctx, load(ctx).worker, assessors); err != nil {
		return nil, err
	}
	return &generated.DrillsAt{Yard: yard, On: on, Caution: rollcall.RotationCaution, Drills: each(found, func(d rollcall.DrillThere) generated.DrillThere {
		return generated.DrillThere{Session: sessions[d.SessionID], Part: d.Part, Methods: texts(d.Methods), FamilyID: string(d.FamilyID), DeviceID: string(d.DeviceID),
			KitID: string(d.KitID), Assessor: assessors[string(d.AssessorID)], Serves: d.People, PeopleInAll: len(d.People)}
	})}, nil
}

// sessionsOf gives the booked sessions among drills, by id.
func (q query) sessionsOf(ctx context.Context, drills []rollcall.DrillThere) (map[groundhand.SessionID]*groundhand.Session, error) {
	var ids []groundhand.SessionID
	for _, d := range drills {
		if d.SessionID != "" {
			ids = append(ids, d.SessionID)
		}
	}
	rows, err := store.FindStanding[groundhand.Session](ctx, q.Store, store.ByID, ids)
	out := make(map[groundhand.SessionID]*groundhand.Session, len(rows))
	for i := range rows {
		out[rows[i].ID] = &rows[i]
	}
	return out, err
}

func (drillThere) People(ctx context.Context, d *generated.DrillThere, first *int) ([]generated.DrillFor, error) {
	n, err := pageSize(first)
	if err != nil {
		return nil, err
	}
	shown := d.Serves[:min(n, len(d.Serves))]
	people := map[string]*groundhand.Worker{}
	for _, p := range shown {
		people[string(p.WorkerID)] = nil
	}
	err = lookUp(ctx, load(ctx).worker, people)
	return each(shown, func(p rollcall.DrillFor) generated.DrillFor {
		return generated.DrillFor{Worker: people[string(p.WorkerID)], Method: string(p.Method), LastGoodDay: someOrNil(p.LastGoodDay)}
	}), err
}
