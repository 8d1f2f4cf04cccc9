package graph

import (
	"cmp"
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

type (
	finding     struct{ *Root }
	condition   struct{ *Root }
	coverChange struct{ *Root }
)

// Finding says itself in words.
func (r *Root) Finding() generated.FindingResolver { return finding{r} }

// Condition says itself in words.
func (r *Root) Condition() generated.ConditionResolver { return condition{r} }

// CoverChange says itself in words.
func (r *Root) CoverChange() generated.CoverChangeResolver { return coverChange{r} }

func (f finding) Words(ctx context.Context, obj *generated.Finding) (string, error) {
	return f.said(ctx, func(name rollcall.NameOf) string { return rollcall.FindingWords(obj.Found, name) })
}

func (c condition) Words(ctx context.Context, obj *generated.Condition) (string, error) {
	return c.said(ctx, func(name rollcall.NameOf) string { return rollcall.ConditionWords(obj.Met, name) })
}

func (c coverChange) Words(ctx context.Context, obj *generated.CoverChange) (string, error) {
	return c.said(ctx, func(name rollcall.NameOf) string { return rollcall.EdgeWords(obj.Change, name) })
}

// said puts names into words. It has them said twice: once to hear whose names are needed, so that all are looked up together.
func (r *Root) said(ctx context.Context, say func(rollcall.NameOf) string) (string, error) {
	var keys []onDay
	text := say(func(id string) string {
		keys = append(keys, onDay{groundhand.WorkerID(id), r.Roll.Today()})
		return id
	})
	if len(keys) == 0 {
		return text, nil
	}
	names, err := load(ctx).name.LoadAll(ctx, keys)
	if err != nil {
		return "", err
	}
	byID := make(map[string]string, len(keys))
	for i, key := range keys {
		byID[string(key.id)] = names[i]
	}
	return say(func(id string) string { return cmp.Or(byID[id], id) }), nil // who has no name yet goes by the id
}
