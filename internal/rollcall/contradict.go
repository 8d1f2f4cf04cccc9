package rollcall

import (
	"cmp"
	"context"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/store"
)

// claim is what an entry says was done: on which device or family, when, and by whom.
type claim struct {
	noted
	device groundhand.DeviceID
	family groundhand.FamilyID // where no device is named
}

// contradicted marks what can hardly have been so: the device was out of service, or the worker was away. A question, never a verdict.
func (m *marking) contradicted() error {
	claims, err := m.claims()
	if err != nil || len(claims) == 0 {
		return err
	}
	w, err := m.roll.witnesses(m.ctx, claims)
	if err != nil {
		return err
	}
	for _, c := range claims {
		if w.wasAway(c) || w.wasOut(c) {
			m.put(c.id, MarkContradicted)
		}
	}
	return nil
}

// claims reads what runs, parts of runs, assessments and sessions say.
func (m *marking) claims() ([]claim, error) {
	byKind := map[string][]noted{}
	for _, e := range m.entries {
		byKind[e.kind] = append(byKind[e.kind], e)
	}
	runs, err := m.runs(byKind)
	if err != nil {
		return nil, err
	}
	var out []claim
	for _, e := range byKind[runKind.name] {
		out = append(out, runs.claim(e, e.id))
	}
	for _, e := range byKind[partKind.name] {
		out = append(out, runs.claim(e, e.names))
	}
	passes, err := m.passes(byKind[passKind.name], runs)
	if err != nil {
		return nil, err
	}
	for _, e := range byKind[sessionKind.name] {
		out = append(out, claim{noted: e, device: runs.sessions[groundhand.SessionID(e.id)].DeviceID})
	}
	return append(out, passes...), nil
}

// deeds are runs and sessions by id.
type deeds struct {
	runs     map[groundhand.RunID]groundhand.Run
	sessions map[groundhand.SessionID]groundhand.Session
	parts    map[groundhand.EntryID]groundhand.RunPart // that an assessment names
	passes   []groundhand.Assessment
}

func (m *marking) runs(byKind map[string][]noted) (deeds, error) {
	d := deeds{map[groundhand.RunID]groundhand.Run{}, map[groundhand.SessionID]groundhand.Session{}, map[groundhand.EntryID]groundhand.RunPart{}, nil}
	ids := idsOf(byKind[runKind.name], func(e noted) groundhand.EntryID { return e.id })
	ids = append(ids, idsOf(byKind[partKind.name], func(e noted) groundhand.EntryID { return e.names })...)
	var err error
	if d.passes, err = store.Find[groundhand.Assessment](m.ctx, m.roll.store, store.ByID, idsOf(byKind[passKind.name], func(e noted) groundhand.EntryID { return e.id })); err != nil {
		return d, err
	}
	parts, err := store.Find[groundhand.RunPart](m.ctx, m.roll.store, store.ByID, idsOf(d.passes, func(a groundhand.Assessment) groundhand.EntryID { return a.RunPartID }))
	if err != nil {
		return d, err
	}
	for _, p := range parts {
		d.parts[p.ID] = p
		ids = append(ids, groundhand.EntryID(p.RunID))
	}
	runs, err := store.Find[groundhand.Run](m.ctx, m.roll.store, store.ByID, unique(ids))
	if err != nil {
		return d, err
	}
	sessions := idsOf(byKind[sessionKind.name], func(e noted) groundhand.SessionID { return groundhand.SessionID(e.id) })
	for _, run := range runs {
		d.runs[run.ID] = run
		sessions = append(sessions, run.SessionID)
	}
	planned, err := store.Find[groundhand.Session](m.ctx, m.roll.store, store.ByID, unique(sessions))
	for _, s := range planned {
		d.sessions[s.ID] = s
	}
	return d, err
}

// claim is what a run says of its device: the one it names, else that of its session. Of a familiarisation without either the family remains.
func (d deeds) claim(e noted, id groundhand.EntryID) claim {
	run := d.runs[groundhand.RunID(id)]
	out := claim{noted: e, device: cmp.Or(run.DeviceID, d.sessions[run.SessionID].DeviceID)}
	if run.Method == groundhand.Familiarisation && out.device == "" {
		out.family = run.FamilyID
	}
	return out
}

func (m *marking) passes(entries []noted, d deeds) ([]claim, error) {
	byID := map[groundhand.EntryID]noted{}
	for _, e := range entries {
		byID[e.id] = e
	}
	var out []claim
	for _, a := range d.passes {
		c := claim{noted: byID[a.ID], family: a.FamilyID}
		if part, linked := d.parts[a.RunPartID]; linked {
			run := d.runs[part.RunID]
			c.device = cmp.Or(run.DeviceID, d.sessions[run.SessionID].DeviceID)
		}
		out = append(out, c)
	}
	return out, nil
}

// witnesses are the entries that may speak against a claim.
type witnesses struct {
	roll   *Roll
	gear   *gear
	muster muster
	away   map[groundhand.WorkerID][]groundhand.Unavailability
}

func (r *Roll) witnesses(ctx context.Context, claims []claim) (witnesses, error) {
	w := witnesses{roll: r, away: map[groundhand.WorkerID][]groundhand.Unavailability{}}
	people := idsOf(claims, func(c claim) groundhand.WorkerID { return c.worker })
	absences, err := store.FindStanding[groundhand.Unavailability](ctx, r.store, store.ByWorker, unique(people))
	if err != nil {
		return w, err
	}
	for _, u := range absences {
		w.away[u.WorkerID] = append(w.away[u.WorkerID], u)
	}
	if w.muster, err = r.muster(ctx, nil, people, firstDay, lastDay); err != nil {
		return w, err
	}
	devices, err := w.devices(ctx, claims)
	if err != nil {
		return w, err
	}
	w.gear, err = r.gear(ctx, devices, nil, r.start(lastDay)) // good looks at the lower controls prove nothing here
	return w, err
}

// devices lists those named and, where a claim names only a family, all.
func (w *witnesses) devices(ctx context.Context, claims []claim) ([]groundhand.DeviceID, error) {
	var out []groundhand.DeviceID
	for _, c := range claims {
		if c.device == "" && c.family != "" {
			all, err := store.Standing[groundhand.Device](ctx, w.roll.store)
			return idsOf(all, func(d groundhand.Device) groundhand.DeviceID { return d.ID }), err
		}
		out = append(out, c.device)
	}
	return slices.DeleteFunc(out, func(id groundhand.DeviceID) bool { return id == "" }), nil
}

// stretch is when a claim says it was: a moment, or a whole day.
func (r *Roll) stretch(e groundhand.Recorded) (from, to groundhand.Instant) {
	if e.HappenedAt != 0 {
		return e.HappenedAt, e.HappenedAt + 1
	}
	return r.start(e.HappenedOn), r.start(e.HappenedOn + 1)
}

// wasAway says that the worker was on leave or sick for all of it. A course or a rest does not keep anybody from a drill.
func (w witnesses) wasAway(c claim) bool {
	from, to := w.roll.stretch(c.Recorded)
	return slices.ContainsFunc(w.away[c.worker], func(u groundhand.Unavailability) bool {
		return (u.Kind == groundhand.Leave || u.Kind == groundhand.Sick) && u.FromAt <= from && (u.ToAt == 0 || to <= u.ToAt)
	})
}

// wasOut says that the device named was out of service for all of it, or every device of the family in the yard of the worker's crew.
func (w witnesses) wasOut(c claim) bool {
	from, to := w.roll.stretch(c.Recorded)
	if c.device != "" {
		return w.deviceOut(c.device, from, to)
	}
	if c.family == "" || c.worker == "" {
		return false
	}
	yard := w.muster.crews[w.muster.at(c.worker, from)].YardID
	there := 0
	for id := range w.gear.devices {
		d, _ := w.gear.known(id, from)
		if yard == "" || d.FamilyID != c.family || d.YardID != yard {
			continue
		}
		there++
		if !w.deviceOut(id, from, to) {
			return false
		}
	}
	return there > 0
}

func (w witnesses) deviceOut(id groundhand.DeviceID, from, to groundhand.Instant) bool {
	return slices.ContainsFunc(w.gear.outOfService(thing{device: id}), func(i readiness.Interval) bool {
		began := i.From.At
		if i.From.Day != 0 {
			began = w.roll.start(i.From.Day)
		}
		return began <= from && (i.To == 0 || to <= i.To)
	})
}
