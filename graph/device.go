package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

type (
	device     struct{ *Root }
	kit        struct{ *Root }
	inspection struct{ *Root }
)

// Device looks up a device's family, yard and inspections.
func (r *Root) Device() generated.DeviceResolver { return device{r} }

// Kit looks up where a kit is and its inspections.
func (r *Root) Kit() generated.KitResolver { return kit{r} }

// Inspection gives its lines.
func (r *Root) Inspection() generated.InspectionResolver { return inspection{r} }

func (device) Family(ctx context.Context, d *groundhand.Device) (*groundhand.Family, error) {
	return one(ctx, load(ctx).family, d.FamilyID)
}

func (device) Yard(ctx context.Context, d *groundhand.Device) (*groundhand.Yard, error) {
	return one(ctx, load(ctx).yard, d.YardID)
}

func (device) Inspections(ctx context.Context, d *groundhand.Device) ([]groundhand.Inspection, error) {
	return load(ctx).deviceLooks.Load(ctx, d.ID)
}

func (r kit) Placing(ctx context.Context, k *groundhand.Kit) (*groundhand.KitPlacing, error) {
	all, err := load(ctx).placings.Load(ctx, k.ID)
	return latest(all, r.Roll.Today()), err
}

func (kit) Inspections(ctx context.Context, k *groundhand.Kit) ([]groundhand.Inspection, error) {
	return load(ctx).kitLooks.Load(ctx, k.ID)
}

func (inspection) Lines(_ context.Context, i *groundhand.Inspection) ([]groundhand.InspectionLine, error) {
	return i.Lines, nil
}

func (q query) Families(ctx context.Context) ([]groundhand.Family, error) {
	return listed(store.Standing[groundhand.Family](ctx, q.Store))
}

func (q query) Devices(ctx context.Context, first *int, after *string) (*generated.DeviceConnection, error) {
	edges, info, err := page(ctx, q.Store, first, after, func(d groundhand.Device) (generated.DeviceEdge, string) {
		return generated.DeviceEdge{Cursor: string(d.ID), Node: &d}, string(d.ID)
	})
	return &generated.DeviceConnection{Edges: edges, PageInfo: info}, err
}

func (q query) Kits(ctx context.Context, first *int, after *string) (*generated.KitConnection, error) {
	edges, info, err := page(ctx, q.Store, first, after, func(k groundhand.Kit) (generated.KitEdge, string) {
		return generated.KitEdge{Cursor: string(k.ID), Node: &k}, string(k.ID)
	})
	return &generated.KitConnection{Edges: edges, PageInfo: info}, err
}
