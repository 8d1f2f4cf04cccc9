package graph

import (
	"context"

	"groundhand/graph/generated"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
	"groundhand/internal/training"
)

// OwnRecord is a look at oneself, which is not noted.
func (q query) OwnRecord(ctx context.Context) (*generated.WorkerRecord, error) {
	record, err := q.Roll.Record(ctx, viewer(ctx).WorkerID)
	if err != nil {
		return nil, err
	}
	return recordOf(record), nil
}

func (q query) WorkerRecord(ctx context.Context, id string) (*generated.WorkerRecord, error) {
	record, err := q.Roll.Record(ctx, groundhand.WorkerID(id))
	if err != nil {
		return nil, atField("worker", err)
	}
	return recordOf(record), q.saw(ctx, "workerRecord", record.WorkerID)
}

// saw notes whose records the viewer was shown.
func (r *Root) saw(ctx context.Context, question string, who ...groundhand.WorkerID) error {
	return r.Desk.Saw(ctx, viewer(ctx), question, who)
}

func recordOf(r rollcall.Record) *generated.WorkerRecord {
	return &generated.WorkerRecord{WorkerID: string(r.WorkerID), On: r.On, Number: r.Worker.Number, Names: each(r.Names, same), Numbers: each(r.Numbers, same),
		Aliases: each(r.Aliases, same), Employments: each(r.Employments, same), Gradings: each(r.Gradings, same), CrewID: string(r.CrewID),
		Standings: each(r.Standings, recordLine), Entries: each(r.Entries, recordEntry), Extensions: each(r.Extensions, liveExtension),
		Provisionals: each(r.Provisionals, liveProvisional), NextDrill: nextDrill(r.NextDrill), OpenDisputes: r.OpenDisputes, Caution: rollcall.Caution}
}

func same[T any](v T) T { return v }

func recordLine(l rollcall.RecordLine) generated.RecordLine {
	said := standingOf(l.WorkerStanding)
	return generated.RecordLine{Standing: &said, Why: l.Why}
}

func recordEntry(e rollcall.RecordEntry) generated.RecordEntry {
	return generated.RecordEntry{EntryID: string(e.EntryID), Kind: e.Kind, Recorded: &e.Recorded, Method: someOrNil(e.Says.Method), Role: someOrNil(e.Says.Role),
		FamilyID: string(e.Says.FamilyID), Result: e.Result, SignedBy: texts(e.SignedBy), Marks: markList(e.Marks), Corrections: each(e.Corrections, same),
		Disputes: each(e.Disputes, func(d rollcall.RecordDispute) groundhand.Dispute { return d.Dispute })}
}

func nextDrill(b *rollcall.BookedDrill) *generated.NextDrill {
	if b == nil {
		return nil
	}
	return &generated.NextDrill{SessionID: string(b.Session.ID), YardID: string(b.Session.YardID), StartAt: b.Session.StartAt, EndAt: b.Session.EndAt,
		Renews: append([]string{}, b.Renews...)}
}

func (m mutation) NumberWorker(ctx context.Context, key string, form training.NumberForm) (*groundhand.WorkerNumber, error) {
	return made(m.Desk.NumberWorker(ctx, viewer(ctx), key, form))
}

func (m mutation) AddAlias(ctx context.Context, key string, form training.AliasForm) (*groundhand.Alias, error) {
	return made(m.Desk.AddAlias(ctx, viewer(ctx), key, form))
}

func (m mutation) MergeWorkers(ctx context.Context, key string, form training.MergeForm) (*groundhand.Merge, error) {
	return made(m.Desk.Merge(ctx, viewer(ctx), key, form))
}

// knownWorker says whether there is such a worker.
func (r *Root) knownWorker(ctx context.Context, id string) (bool, error) {
	found, err := store.Find[groundhand.Worker](ctx, r.Store, store.ByID, []string{id})
	return len(found) > 0, err
}
