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
	classing   struct{}
)

// Device looks up a device's family, yard and inspections.
func (r *Root) Device() generated.DeviceResolver { return device{r} }

// Classing tells what it leaves as it was.
func (r *Root) Classing() generated.ClassingResolver { return classing{} }

// Kit looks up where a kit is and its inspections.
func (r *Root) Kit() generated.KitResolver { return kit{r} }

// Inspection gives its lines.
func (r *Root) Inspection() generated.InspectionResolver { return inspection{r} }

// known is a device with what has become known of it.
func (r device) known(ctx context.Context, d *groundhand.Device) (groundhand.Device, error) {
	classings, err := load(ctx).classings.Load(ctx, d.ID)
	return r.Roll.KnownNow(*d, classings), err
}

func (r device) Family(ctx context.Context, d *groundhand.Device) (*groundhand.Family, error) {
	known, err := r.known(ctx, d)
	if err != nil || known.FamilyID == "" {
		return nil, err
	}
	return one(ctx, load(ctx).family, known.FamilyID)
}

func (r device) AnchorCm(ctx context.Context, d *groundhand.Device) (int, error) {
	known, err := r.known(ctx, d)
	return known.AnchorCM, err
}

func (r device) EmergencyLow(ctx context.Context, d *groundhand.Device) (groundhand.Answer, error) {
	known, err := r.known(ctx, d)
	return known.EmergencyLow, err
}

func (device) Classings(ctx context.Context, d *groundhand.Device) ([]groundhand.Classing, error) {
	return load(ctx).classings.Load(ctx, d.ID)
}

func (device) Defects(ctx context.Context, d *groundhand.Device) ([]groundhand.Defect, error) {
	return load(ctx).deviceDefects.Load(ctx, d.ID)
}

func (classing) EmergencyLow(_ context.Context, c *groundhand.Classing) (*groundhand.Answer, error) {
	return someOrNil(c.EmergencyLow), nil
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

func (kit) Defects(ctx context.Context, k *groundhand.Kit) ([]groundhand.Defect, error) {
	return load(ctx).kitDefects.Load(ctx, k.ID)
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
