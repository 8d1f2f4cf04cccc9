package graph

import (
	"context"
	"strings"

	"groundhand/graph/generated"
	"groundhand/internal/checklist"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

func gearLines(list []rollcall.GearLine) []generated.GearLine {
	out := make([]generated.GearLine, len(list))
	for i, l := range list {
		out[i] = generated.GearLine{Of: checklist.Thing(l.Of), ID: l.ID, Line: l.Line, Words: rollcall.LineWords(l.Line),
			Holds: groundhand.Answer(strings.ToUpper(l.Holds.String())), GoodThrough: someOrNil(l.GoodThrough), MadeOn: someOrNil(l.MadeOn), InspectionID: string(l.EntryID)}
	}
	return out
}

type list struct{}

// Checklist says where a list comes from and what comes first.
func (r *Root) Checklist() generated.ChecklistResolver { return list{} }

func (list) Source(context.Context, *checklist.List) (string, error) { return checklist.Source, nil }

func (list) Caution(context.Context, *checklist.List) (string, error) { return checklist.Caution, nil }

func (query) Checklists(context.Context) ([]checklist.List, error) { return checklist.All(), nil }
