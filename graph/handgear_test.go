package graph_test

import (
	"context"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rulebook"
)

// gear reads a device and the kit that rides on it, for a day to come: what can only be seen on the day is supposed.
func (h handwritten) gear(ctx context.Context, id string, day groundhand.Date, asked rulebook.Inspections) (*readiness.Device, *readiness.Kit, error) {
	d := &readiness.Device{ID: id, LowerControlsChecked: readiness.Yes, OutOfService: []readiness.Interval{}}
	var anchor int
	var lowering string
	err := h.db.QueryRowContext(ctx, `SELECT coalesce((SELECT c.family_id FROM classings c WHERE c.device_id = e.id AND c.family_id IS NOT NULL ORDER BY c.recorded_at DESC LIMIT 1), e.family_id),
		e.anchor_cm, e.emergency_low FROM devices e WHERE e.id = ?`, id).Scan(&d.Family, &anchor, &lowering)
	if err != nil {
		return nil, nil, err
	}
	d.EmergencyLowering = yes(lowering == "YES")
	if anchor > 0 {
		d.AnchorHeightCM = &anchor
	}
	k := &readiness.Kit{OnDevice: readiness.Yes, SuitsAll: readiness.Yes, OutOfService: []readiness.Interval{}, Parts: new(int), RopeCM: new(int), TailCM: new(int), RatedLoadKG: new(int)}
	var retires *groundhand.Date
	err = h.db.QueryRowContext(ctx, `SELECT k.id, k.parts, k.rope_cm, k.tail_cm, k.rated_load_kg, k.retires_on FROM kits k JOIN kit_placings e ON e.kit_id = k.id
		WHERE e.device_id = ? AND e.happened_on <= ?`+alive("kit_placings")+` ORDER BY e.happened_on DESC, e.recorded_at DESC LIMIT 1`, id, day).
		Scan(&k.ID, k.Parts, k.RopeCM, k.TailCM, k.RatedLoadKG, &retires)
	if err != nil {
		return nil, nil, err
	}
	if k.UseThrough.Never = retires == nil; retires != nil {
		k.UseThrough.Day = *retires
	}
	last, err := h.looks(ctx, d, k, day)
	if err != nil {
		return nil, nil, err
	}
	for kind, every := range asked.Device {
		if kind != groundhand.DailyLowerControls {
			d.OutOfService = append(d.OutOfService, readiness.Interval{From: readiness.Edge{Day: every.Through(last[string(kind)+" of device"]) + 1}})
		}
	}
	monthly := max(last["MONTHLY_INSIDE of kit"], last["YEARLY of kit"])
	k.DueThrough = readiness.Due{Weekly: asked.Kit["WEEKLY_OUTSIDE"].Through(last["WEEKLY_OUTSIDE of kit"]), Monthly: asked.Kit["MONTHLY_INSIDE"].Through(monthly), Yearly: asked.Kit["YEARLY"].Through(last["YEARLY of kit"])}
	return d, k, h.defects(ctx, d, k)
}

// looks gives the day of the last good look of each kind, and takes out of service what a look found.
func (h handwritten) looks(ctx context.Context, d *readiness.Device, k *readiness.Kit, day groundhand.Date) (map[string]groundhand.Date, error) {
	last := map[string]groundhand.Date{}
	return last, h.rows(ctx, func(scan func(...any) error) error {
		var kind, result string
		var of *string
		var on groundhand.Date
		var at groundhand.Instant
		if err := scan(&kind, &result, &of, &on, &at); err != nil {
			return err
		}
		out := readiness.Interval{From: readiness.Edge{At: at}}
		switch {
		case result == "OUT_OF_SERVICE" && of != nil:
			d.OutOfService = append(d.OutOfService, out)
		case result == "OUT_OF_SERVICE":
			k.OutOfService = append(k.OutOfService, out)
		case of != nil:
			last[kind+" of device"] = max(last[kind+" of device"], on)
		default:
			last[kind+" of kit"] = max(last[kind+" of kit"], on)
		}
		return nil
	}, `SELECT kind, result, device_id, happened_on, happened_at FROM inspections e WHERE (device_id = ? OR kit_id = ?) AND happened_on <= ?`+alive("inspections"), d.ID, k.ID, day)
}

func (h handwritten) defects(ctx context.Context, d *readiness.Device, k *readiness.Kit) error {
	return h.rows(ctx, func(scan func(...any) error) error {
		var of *string
		var at groundhand.Instant
		err := scan(&of, &at)
		out := readiness.Interval{From: readiness.Edge{At: at}}
		if of != nil {
			d.OutOfService = append(d.OutOfService, out)
		} else {
			k.OutOfService = append(k.OutOfService, out)
		}
		return err
	}, `SELECT device_id, happened_at FROM defects e WHERE (device_id = ? OR kit_id = ?)`+alive("defects"), d.ID, k.ID)
}
