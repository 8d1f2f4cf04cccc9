package rollcall

import (
	"context"
	"maps"
	"slices"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// supposed is an event that can be supposed of some facts.
type supposed struct {
	Event
	entries []groundhand.EntryID // withdrawn with it: of a run everybody's part
}

// withdrawable are the kinds of entry that bear on standings alone, as their tables are called. What else is recorded can be supposed by
// naming the kit, the device or the worker.
var withdrawable = []string{"runs", "run_parts", "assessments", "outside_evidences", "extensions", "provisionals", "suspensions", "liftings", "authorities"}

// supposed looks up what the event names, so that a wrong name is not taken for an event without effect.
func (r *Roll) supposed(ctx context.Context, e Event) (supposed, error) {
	out := supposed{Event: e, entries: []groundhand.EntryID{e.EntryID}}
	var err error
	switch {
	case e.KitID != "":
		_, err = store.Get[groundhand.Kit](ctx, r.store, e.KitID)
	case e.DeviceID != "":
		_, err = store.Get[groundhand.Device](ctx, r.store, e.DeviceID)
	case e.WorkerID != "":
		_, err = store.Get[groundhand.Worker](ctx, r.store, e.WorkerID)
	default:
		var kind string
		if kind, err = r.store.KindOf(ctx, e.EntryID); err != nil {
			return out, err
		}
		if !slices.Contains(withdrawable, kind) {
			return out, groundhand.Invalid("entry", "The entry %s says nothing about who is current; name the kit, the device or the worker instead.", string(e.EntryID))
		}
		if kind == "runs" {
			var parts []groundhand.RunPart
			parts, err = store.Find[groundhand.RunPart](ctx, r.store, store.ByRun, []groundhand.EntryID{e.EntryID})
			out.entries = idsOf(parts, func(p groundhand.RunPart) groundhand.EntryID { return p.ID })
		}
	}
	return out, err
}

// to gives the facts as they would be after the event; the facts given stay as they are.
func (s supposed) to(f *coverFacts) (*coverFacts, error) {
	out := *f
	switch {
	case s.KitID != "" || s.DeviceID != "":
		out.gear = f.gear.without(thing{s.DeviceID, s.KitID}, s.At)
	case s.WorkerID != "":
		out.roster = f.roster.absent(s.WorkerID, s.At)
	default:
		var err error
		if out.roster, err = f.roster.without(s.entries, f); err != nil {
			return nil, err
		}
	}
	return &out, nil
}

// without takes a device or a kit out of service from a moment on.
func (g *gear) without(of thing, at groundhand.Instant) *gear {
	out := *g
	out.defects = maps.Clone(g.defects)
	out.defects[of] = append(slices.Clone(g.defects[of]), groundhand.Defect{Recorded: groundhand.Recorded{HappenedAt: at, RecordedAt: at}, DeviceID: of.device, KitID: of.kit})
	return &out
}

// absent takes somebody away from a moment on, without saying why.
func (ro *roster) absent(who groundhand.WorkerID, at groundhand.Instant) *roster {
	out := *ro
	out.away = maps.Clone(ro.away)
	out.away[who] = append(slices.Clone(ro.away[who]), groundhand.Unavailability{WorkerID: who, Kind: groundhand.Course, FromAt: at})
	return &out
}

// without withdraws entries. Those of nobody loaded here change nothing, and tidy leaves their withdrawals out.
func (ro *roster) without(ids []groundhand.EntryID, f *coverFacts) (*roster, error) {
	entries := slices.Clone(ro.entries)
	for _, id := range ids {
		entries = append(entries, competence.Entry{ID: "supposed withdrawal of " + string(id), Kind: competence.Withdrawal, RecordedAt: wholeSecond(f.now), Author: "supposed",
			Withdraws: string(id)})
	}
	out := *ro
	out.entries = tidy(entries)
	out.busy = map[competence.Period]busyDays{}
	var err error
	out.book, err = competence.NewBook(competence.Facts{Name: factsName, Zone: f.roll.zone.String(), RuleSets: f.shelf.facts(), Entries: out.entries})
	return &out, err
}
