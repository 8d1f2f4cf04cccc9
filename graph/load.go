package graph

import (
	"cmp"
	"context"
	"slices"
	"sync"
	"time"

	"github.com/vikstrous/dataloadgen"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
	"groundhand/internal/training"
)

// usualWait is how long the look-ups of sibling fields are gathered into one statement. It only trades latency against statements; no
// answer depends on it.
const usualWait = time.Millisecond

func (r *Root) wait() time.Duration { return cmp.Or(r.Wait, usualWait) }

// onDay is a key of something that holds on a day.
type onDay struct {
	id groundhand.WorkerID
	on groundhand.Date
}

type crewDay struct {
	id groundhand.CrewID
	on groundhand.Date
}

// loaders gather what sibling fields look up, so that a page costs a few statements, not some for each row. They live for one request.
type loaders struct {
	worker        *dataloadgen.Loader[groundhand.WorkerID, groundhand.Worker]
	yard          *dataloadgen.Loader[groundhand.YardID, groundhand.Yard]
	family        *dataloadgen.Loader[groundhand.FamilyID, groundhand.Family]
	crew          *dataloadgen.Loader[groundhand.CrewID, groundhand.Crew]
	job           *dataloadgen.Loader[groundhand.JobID, groundhand.Job]
	name          *dataloadgen.Loader[onDay, string]
	crewOf        *dataloadgen.Loader[onDay, groundhand.CrewID]
	standings     *dataloadgen.Loader[onDay, []rollcall.WorkerStanding]
	members       *dataloadgen.Loader[crewDay, []groundhand.Membership]
	gradings      *dataloadgen.Loader[groundhand.WorkerID, []groundhand.Grading]
	employments   *dataloadgen.Loader[groundhand.WorkerID, []groundhand.Employment]
	postings      *dataloadgen.Loader[groundhand.WorkerID, []groundhand.Posting]
	bookings      *dataloadgen.Loader[groundhand.SessionID, []groundhand.Booking]
	runs          *dataloadgen.Loader[groundhand.SessionID, []groundhand.Run]
	parts         *dataloadgen.Loader[groundhand.RunID, []groundhand.RunPart]
	deviceLooks   *dataloadgen.Loader[groundhand.DeviceID, []groundhand.Inspection]
	kitLooks      *dataloadgen.Loader[groundhand.KitID, []groundhand.Inspection]
	placings      *dataloadgen.Loader[groundhand.KitID, []groundhand.KitPlacing]
	classings     *dataloadgen.Loader[groundhand.DeviceID, []groundhand.Classing]
	deviceDefects *dataloadgen.Loader[groundhand.DeviceID, []groundhand.Defect]
	kitDefects    *dataloadgen.Loader[groundhand.KitID, []groundhand.Defect]
	briefings     *dataloadgen.Loader[groundhand.JobID, []groundhand.Briefing]
	decisions     *dataloadgen.Loader[groundhand.ReplyID, []groundhand.Decision]
	flags         *dataloadgen.Loader[groundhand.CrewID, []groundhand.Flag]
	clearings     *dataloadgen.Loader[groundhand.FlagID, []groundhand.Clearing]
	adoptions     *dataloadgen.Loader[groundhand.PlanID, []groundhand.Adoption]
	plan          *dataloadgen.Loader[groundhand.PlanID, groundhand.Plan]
	planSessions  *dataloadgen.Loader[groundhand.PlanID, []groundhand.Session]
	bookedSlots   *dataloadgen.Loader[groundhand.SessionID, []groundhand.Session]
	rotation      *dataloadgen.Loader[groundhand.EntryID, training.RotationJob]
	following     *dataloadgen.Loader[groundhand.EntryID, []groundhand.RotationRequest]
	rulings       *dataloadgen.Loader[groundhand.EntryID, []groundhand.Ruling]
	closings      *dataloadgen.Loader[groundhand.EntryID, []groundhand.ReviewClosing]
	approvals     *dataloadgen.Loader[groundhand.EntryID, []groundhand.RuleApproval]
	circle        func() (access.Circle, error) // of the viewer, today; looked up when first asked for

	reading   sync.Mutex
	plansRead map[groundhand.PlanID]planRead
	kept      func(groundhand.WorkerID) groundhand.WorkerID // by which a merged person is found
}

type loadersKey struct{}

func load(ctx context.Context) *loaders { return ctx.Value(loadersKey{}).(*loaders) }

func (r *Root) withLoaders(ctx context.Context) context.Context {
	s, wait := r.Store, r.wait()
	circle := sync.OnceValues(func() (access.Circle, error) { return access.CircleOf(ctx, s, viewer(ctx), r.Roll.Today()) })
	return context.WithValue(ctx, loadersKey{}, &loaders{
		circle:        circle,
		worker:        byID(s, wait, func(w groundhand.Worker) groundhand.WorkerID { return w.ID }),
		yard:          byID(s, wait, func(y groundhand.Yard) groundhand.YardID { return y.ID }),
		family:        byID(s, wait, func(f groundhand.Family) groundhand.FamilyID { return f.ID }),
		crew:          byID(s, wait, func(c groundhand.Crew) groundhand.CrewID { return c.ID }),
		job:           byID(s, wait, func(j groundhand.Job) groundhand.JobID { return j.ID }),
		name:          dayLoader(wait, func(k onDay) groundhand.Date { return k.on }, r.namesOn),
		crewOf:        dayLoader(wait, func(k onDay) groundhand.Date { return k.on }, r.crewsOn),
		standings:     dayLoader(wait, func(k onDay) groundhand.Date { return k.on }, r.standingsOn),
		members:       dayLoader(wait, func(k crewDay) groundhand.Date { return k.on }, r.membersOn),
		gradings:      manyBy(s, wait, store.ByWorker, func(g groundhand.Grading) groundhand.WorkerID { return g.WorkerID }),
		employments:   manyBy(s, wait, store.ByWorker, func(e groundhand.Employment) groundhand.WorkerID { return e.WorkerID }),
		postings:      manyBy(s, wait, store.ByWorker, func(p groundhand.Posting) groundhand.WorkerID { return p.WorkerID }),
		bookings:      manyBy(s, wait, store.BySession, func(b groundhand.Booking) groundhand.SessionID { return b.SessionID }),
		runs:          manyBy(s, wait, store.BySession, func(r groundhand.Run) groundhand.SessionID { return r.SessionID }),
		parts:         manyBy(s, wait, store.ByRun, func(p groundhand.RunPart) groundhand.RunID { return p.RunID }),
		deviceLooks:   manyBy(s, wait, store.ByDevice, func(i groundhand.Inspection) groundhand.DeviceID { return i.DeviceID }),
		kitLooks:      manyBy(s, wait, store.ByKit, func(i groundhand.Inspection) groundhand.KitID { return i.KitID }),
		placings:      manyBy(s, wait, store.ByKit, func(p groundhand.KitPlacing) groundhand.KitID { return p.KitID }),
		classings:     manyBy(s, wait, store.ByDevice, func(c groundhand.Classing) groundhand.DeviceID { return c.DeviceID }),
		deviceDefects: manyBy(s, wait, store.ByDevice, func(d groundhand.Defect) groundhand.DeviceID { return d.DeviceID }),
		kitDefects:    manyBy(s, wait, store.ByKit, func(d groundhand.Defect) groundhand.KitID { return d.KitID }),
		briefings:     manyBy(s, wait, store.ByJob, func(b groundhand.Briefing) groundhand.JobID { return b.JobID }),
		decisions:     manyBy(s, wait, store.ByReply, func(d groundhand.Decision) groundhand.ReplyID { return d.ReplyID }),
		flags:         dataloadgen.NewMappedLoader(r.openFlags, dataloadgen.WithWait(wait)),
		clearings:     manyOf(s, wait, store.ByFlag, func(c groundhand.Clearing) groundhand.FlagID { return c.FlagID }),
		rulings:       manyBy(s, wait, store.ByDispute, func(x groundhand.Ruling) groundhand.EntryID { return x.DisputeID }),
		closings:      manyBy(s, wait, store.ByReview, func(c groundhand.ReviewClosing) groundhand.EntryID { return c.ReviewID }),
		approvals:     manyBy(s, wait, store.ByProposal, func(a groundhand.RuleApproval) groundhand.EntryID { return a.ProposalID }),
		adoptions:     manyBy(s, wait, store.ByPlan, func(a groundhand.Adoption) groundhand.PlanID { return a.PlanID }),
		plan:          byID(s, wait, func(p groundhand.Plan) groundhand.PlanID { return p.ID }),
		planSessions:  manyBy(s, wait, store.ByPlan, func(x groundhand.Session) groundhand.PlanID { return x.PlanID }),
		bookedSlots:   manyBy(s, wait, store.ByID, func(x groundhand.Session) groundhand.SessionID { return x.ID }),
		rotation:      dataloadgen.NewMappedLoader(r.rotationsBy, dataloadgen.WithWait(wait)),
		following:     manyOf(s, wait, store.ByFollowed, func(x groundhand.RotationRequest) groundhand.EntryID { return x.FollowsID }),
		plansRead:     map[groundhand.PlanID]planRead{},
		kept:          s.Kept,
	})
}

func byID[T any, K ~string](s *store.Store, wait time.Duration, idOf func(T) K) *dataloadgen.Loader[K, T] {
	return dataloadgen.NewMappedLoader(func(ctx context.Context, keys []K) (map[K]T, error) {
		rows, err := store.Find[T](ctx, s, store.ByID, keys)
		found := make(map[K]T, len(rows))
		for _, row := range rows {
			found[idOf(row)] = row
		}
		return found, err
	}, dataloadgen.WithWait(wait))
}

// lookUp fills in the rows of a map by their ids, all together.
func lookUp[K ~string, T any](ctx context.Context, l *dataloadgen.Loader[K, T], rows map[string]*T) error {
	ids := make([]K, 0, len(rows))
	for id := range rows {
		ids = append(ids, K(id))
	}
	if len(ids) == 0 {
		return nil
	}
	slices.Sort(ids)
	asked := slices.Clone(ids)
	if people, is := any(asked).([]groundhand.WorkerID); is {
		for i, id := range people {
			people[i] = load(ctx).kept(id)
		}
	}
	found, err := l.LoadAll(ctx, asked)
	if err != nil {
		return err
	}
	for i, id := range ids {
		rows[string(id)] = &found[i]
	}
	return nil
}

type finder[T any, K ~string] func(ctx context.Context, s *store.Store, by store.Field, keys []K) ([]T, error)

// manyBy loads the standing rows that refer to a key.
func manyBy[T any, K ~string](s *store.Store, wait time.Duration, by store.Field, keyOf func(T) K) *dataloadgen.Loader[K, []T] {
	return gather(s, wait, by, keyOf, store.FindStanding[T, K])
}

// manyOf loads all rows that refer to a key, for rows that are never corrected.
func manyOf[T any, K ~string](s *store.Store, wait time.Duration, by store.Field, keyOf func(T) K) *dataloadgen.Loader[K, []T] {
	return gather(s, wait, by, keyOf, store.Find[T, K])
}

func gather[T any, K ~string](s *store.Store, wait time.Duration, by store.Field, keyOf func(T) K, find finder[T, K]) *dataloadgen.Loader[K, []T] {
	return dataloadgen.NewMappedLoader(func(ctx context.Context, keys []K) (map[K][]T, error) {
		rows, err := find(ctx, s, by, keys)
		found := make(map[K][]T, len(keys))
		for _, key := range keys {
			found[key] = nil // none is an answer, not a missing key
		}
		for _, row := range rows {
			found[keyOf(row)] = append(found[keyOf(row)], row)
		}
		return found, err
	}, dataloadgen.WithWait(wait))
}

// dayLoader asks once for each day among the keys; a request names one or two.
func dayLoader[K comparable, V any](wait time.Duration, dayOf func(K) groundhand.Date, ask func(context.Context, groundhand.Date, []K) (map[K]V, error)) *dataloadgen.Loader[K, V] {
	return dataloadgen.NewMappedLoader(func(ctx context.Context, keys []K) (map[K]V, error) {
		byDay := map[groundhand.Date][]K{}
		for _, key := range keys {
			byDay[dayOf(key)] = append(byDay[dayOf(key)], key)
		}
		found := make(map[K]V, len(keys))
		for day, some := range byDay {
			got, err := ask(ctx, day, some)
			if err != nil {
				return nil, err
			}
			for _, key := range some {
				found[key] = got[key]
			}
		}
		return found, nil
	}, dataloadgen.WithWait(wait))
}

func workersOf(keys []onDay) []groundhand.WorkerID {
	out := make([]groundhand.WorkerID, len(keys))
	for i, k := range keys {
		out[i] = k.id
	}
	return out
}

func (r *Root) namesOn(ctx context.Context, on groundhand.Date, keys []onDay) (map[onDay]string, error) {
	names, err := r.Store.NamesOn(ctx, workersOf(keys), on)
	found := make(map[onDay]string, len(names))
	for id, name := range names {
		found[onDay{id, on}] = name
	}
	return found, err
}

func (r *Root) standingsOn(ctx context.Context, on groundhand.Date, keys []onDay) (map[onDay][]rollcall.WorkerStanding, error) {
	all, err := r.Roll.Standings(ctx, rollcall.StandingQuestion{Workers: workersOf(keys), On: on})
	found := make(map[onDay][]rollcall.WorkerStanding, len(keys))
	for _, s := range all {
		key := onDay{s.WorkerID, on}
		found[key] = append(found[key], s)
	}
	return found, err
}

func (r *Root) openFlags(ctx context.Context, crews []groundhand.CrewID) (map[groundhand.CrewID][]groundhand.Flag, error) {
	open, err := r.Store.OpenFlags(ctx)
	found := make(map[groundhand.CrewID][]groundhand.Flag, len(crews))
	for _, id := range crews {
		found[id] = nil
	}
	for _, f := range open {
		if f.CrewID != "" {
			found[f.CrewID] = append(found[f.CrewID], f)
		}
	}
	return found, err
}
