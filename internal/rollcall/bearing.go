package rollcall

import (
	"cmp"
	"context"
	"reflect"
	"slices"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// bearing is whom and what an answer depends on.
type bearing struct {
	workers map[groundhand.WorkerID]bool
	crews   map[groundhand.CrewID]bool
	devices map[groundhand.DeviceID]bool
	kits    map[groundhand.KitID]bool
	jobs    map[groundhand.JobID]bool
}

func newBearing() *bearing {
	return &bearing{map[groundhand.WorkerID]bool{}, map[groundhand.CrewID]bool{}, map[groundhand.DeviceID]bool{}, map[groundhand.KitID]bool{}, map[groundhand.JobID]bool{}}
}

func equal[T any](a, b T) bool { return reflect.DeepEqual(a, b) }

// bearOnStandings: the people asked about and everybody on whose word their passes rest. Without lines it depends on the crew too.
func (r *Roll) bearOnStandings(ctx context.Context, ask StandingQuestion, b *bearing) error {
	if ask.Lines == nil {
		memberships, err := store.FindStanding[groundhand.Membership](ctx, r.store, store.ByWorker, ask.Workers)
		if err != nil {
			return err
		}
		for _, m := range memberships {
			b.crews[m.CrewID] = true
		}
	}
	return r.bearOnPeople(ctx, ask.Workers, b)
}

func (r *Roll) bearOnPeople(ctx context.Context, people []groundhand.WorkerID, b *bearing) error {
	sh, err := r.shelf(ctx)
	if err != nil {
		return err
	}
	d := r.dossier(sh)
	if err := d.take(ctx, people); err != nil {
		return err
	}
	for who := range d.sheet.asked {
		b.workers[who] = true
	}
	return nil
}

func (r *Roll) bearOnCover(ctx context.Context, a CoverAnswer, b *bearing) error {
	q := a.asked
	b.crews[q.CrewID], b.devices[q.DeviceID], b.kits[q.KitID], b.jobs[q.JobID] = true, true, true, true
	var people []groundhand.WorkerID
	for _, p := range a.Question.People {
		people = append(people, groundhand.WorkerID(p.ID))
	}
	if a.Question.Kit != nil {
		b.kits[groundhand.KitID(a.Question.Kit.ID)] = true
	}
	return r.bearOnPeople(ctx, people, b)
}

// search reads entries that bear on a question and keeps each once.
type search struct {
	ctx  context.Context
	roll *Roll
	seen map[groundhand.EntryID]noted
	err  error
}

func (s *search) take(k kind, by store.Field, keys []string) {
	if s.err != nil || len(keys) == 0 {
		return
	}
	var rows []noted
	rows, s.err = k.find(s.ctx, s.roll.store, by, keys)
	for _, e := range rows {
		s.seen[e.id] = e
	}
}

// recordedBetween lists what bears on a question and was recorded after one moment and by another, in recorded order.
func (r *Roll) recordedBetween(ctx context.Context, b *bearing, after, by groundhand.Instant) ([]noted, error) {
	s := &search{ctx, r, map[groundhand.EntryID]noted{}, nil}
	s.people(keysOf(b.workers))
	s.crews(keysOf(b.crews))
	s.things(keysOf(b.devices), keysOf(b.kits))
	s.take(jobKind, store.ByID, keysOf(b.jobs))
	s.take(briefingKind, store.ByJob, keysOf(b.jobs))
	s.rules()
	s.corrections()
	var out []noted
	for _, e := range s.seen {
		if after < e.RecordedAt && e.RecordedAt <= by {
			out = append(out, e)
		}
	}
	slices.SortFunc(out, func(a, b noted) int { return cmp.Or(cmp.Compare(a.RecordedAt, b.RecordedAt), cmp.Compare(a.id, b.id)) })
	return out, s.err
}

func keysOf[K ~string](set map[K]bool) []string {
	var out []string
	for k := range set {
		if k != "" {
			out = append(out, string(k))
		}
	}
	return out
}

func (s *search) people(workers []string) {
	for _, k := range evidenceKinds {
		s.take(k, store.ByWorker, workers)
	}
	s.take(authorityKind, store.ByAssessor, workers)
	s.take(membershipKind, store.ByWorker, workers)
}

func (s *search) crews(crews []string) {
	s.take(crewKind, store.ByID, crews)
	s.take(membershipKind, store.ByCrew, crews)
}

func (s *search) things(devices, kits []string) {
	for _, k := range gearKinds {
		s.take(k, store.ByDevice, devices)
		s.take(k, store.ByKit, kits)
	}
	s.take(deviceKind, store.ByID, devices)
	s.take(classingKind, store.ByDevice, devices)
	s.take(kitKind, store.ByID, kits)
}

func (s *search) rules() {
	if s.err != nil {
		return
	}
	var sets []groundhand.RuleSet
	sets, s.err = store.All[groundhand.RuleSet](s.ctx, s.roll.store)
	s.take(ruleSetKind, store.ByID, words(idsOf(sets, func(x groundhand.RuleSet) groundhand.RuleSetID { return x.ID })))
}

// corrections adds what corrects or withdraws what was found, whoever it names, until nothing more is found.
func (s *search) corrections() {
	asked := map[string]bool{}
	for s.err == nil {
		var fresh []string
		kinds := map[string]bool{}
		for id, e := range s.seen {
			about := []string{string(id)}
			if e.kind == partKind.name {
				about = append(about, string(e.names)) // a run withdrawn as a whole
			}
			for _, key := range about {
				if !asked[key] {
					asked[key], kinds[e.kind] = true, true
					fresh = append(fresh, key)
				}
			}
		}
		if len(fresh) == 0 {
			return
		}
		s.take(withdrawalKind, store.ByWithdrawn, fresh)
		for _, k := range markedKinds {
			if kinds[k.name] && k.name != withdrawalKind.name {
				s.take(k, store.ByReplaced, fresh)
			}
		}
	}
}
