package store

import (
	"context"
	"reflect"
	"slices"
	"strings"

	"gorm.io/gorm"

	"groundhand/internal/groundhand"
)

// persons is who is one person by the merges that stand. It never changes: a merge, and the withdrawal of one, make a new one.
type persons struct {
	order  uint64 // the later of two holds
	merged bool   // there was a merge once, standing or not
	kept   map[groundhand.WorkerID]groundhand.WorkerID
	gone   map[groundhand.WorkerID][]groundhand.WorkerID // by the id kept
}

var nobodyMerged = &persons{}

// personsBy takes merges in recorded order. Whatever they say together, everybody they connect is one person, and of several ids to keep
// the one told last is kept, so that a ring cannot lead round and round.
func personsBy(merges []groundhand.Merge) *persons {
	p := &persons{kept: map[groundhand.WorkerID]groundhand.WorkerID{}, gone: map[groundhand.WorkerID][]groundhand.WorkerID{}}
	for _, m := range merges {
		kept, gone := p.keptOf(m.KeptID), p.keptOf(m.GoneID)
		if kept == gone {
			continue
		}
		moved := append(p.gone[gone], gone)
		for _, id := range moved {
			p.kept[id] = kept
		}
		delete(p.gone, gone)
		p.gone[kept] = append(p.gone[kept], moved...)
	}
	return p
}

// keptOf is the id under which a worker is found.
func (p *persons) keptOf(id groundhand.WorkerID) groundhand.WorkerID {
	if kept, is := p.kept[id]; is {
		return kept
	}
	return id
}

// same gives all ids of the persons that ids mean, each once, of every person the one kept first.
func (p *persons) same(ids []groundhand.WorkerID) []groundhand.WorkerID {
	if len(p.kept) == 0 {
		return ids
	}
	var out []groundhand.WorkerID
	seen := map[groundhand.WorkerID]bool{}
	for _, id := range ids {
		kept := p.keptOf(id)
		if !seen[kept] {
			seen[kept] = true
			out = append(append(out, kept), p.gone[kept]...)
		}
	}
	return out
}

func (p *persons) allGone() (out []groundhand.WorkerID) {
	for id := range p.kept {
		out = append(out, id)
	}
	return out
}

// SamePerson gives all ids of the persons whom ids mean, of every person first the one under which everything is found.
func (s *Store) SamePerson(ids ...groundhand.WorkerID) []groundhand.WorkerID {
	return s.persons().same(ids)
}

// Kept is the id under which the worker is found: the own one unless a standing merge says otherwise.
func (s *Store) Kept(id groundhand.WorkerID) groundhand.WorkerID { return s.persons().keptOf(id) }

// Apart reads as if nobody had ever been merged: every row with the ids under which it was entered.
func (s *Store) Apart() *Store {
	out := *s
	out.people = nobodyMerged
	return &out
}

// persons is who is one person for this store. Merges are few and asked about in every query, so they are kept in memory; a transaction
// that makes or withdraws one has its own until it commits. A merge that another program makes is seen when the file is opened anew.
func (s *Store) persons() *persons {
	switch {
	case s.people != nil:
		return s.people
	case s.journal != nil && s.journal.people != nil:
		return s.journal.people
	}
	return s.merges.Load()
}

// readPersons reads the merges that stand for this store.
func (s *Store) readPersons(ctx context.Context) (*persons, error) {
	all, err := All[groundhand.Merge](ctx, s)
	if err != nil {
		return nil, err
	}
	t, err := tableOf[groundhand.Merge]()
	if err != nil {
		return nil, err
	}
	standing, err := standing(ctx, s, t, all)
	p := personsBy(standing)
	p.merged = len(all) > 0
	return p, err
}

// beginPersons reads the merges when the file is opened. A file of an older program, open for reading only, has none.
func (s *Store) beginPersons(ctx context.Context) error {
	s.merges.Store(nobodyMerged)
	var tables int
	err := s.read.WithContext(ctx).Raw("SELECT count(*) FROM sqlite_schema WHERE name = 'merges'").Scan(&tables).Error
	if err != nil || tables == 0 {
		return err
	}
	p, err := s.readPersons(ctx)
	if err == nil {
		s.merges.Store(p)
	}
	return err
}

// personsThen binds a store that looks back to the merges of its moment.
func (s *Store) personsThen(ctx context.Context) (err error) {
	if s.people = nobodyMerged; !s.merges.Load().merged {
		return nil
	}
	s.people, err = s.readPersons(ctx)
	return err
}

// mayMerge notes that rows were added to a table which may say who is one person.
func (s *Store) mayMerge(ctx context.Context, t table) error {
	known := s.merges.Load()
	if s.journal.people != nil {
		known = s.journal.people
	}
	if t.name != "merges" && (t.name != "withdrawals" || !known.merged) {
		return nil
	}
	p, err := s.readPersons(ctx)
	if err == nil {
		p.order = s.mergeOrder.Add(1) // within the one transaction that writes, so in the order of the commits
		s.journal.people = p
	}
	return err
}

// keepPersons makes what a transaction said about merges hold for everybody, once it has committed.
func (s *Store) keepPersons(p *persons) {
	for p != nil {
		known := s.merges.Load()
		if known.order > p.order || s.merges.CompareAndSwap(known, p) {
			return
		}
	}
}

var workerID = reflect.TypeFor[groundhand.WorkerID]()

// workerLists are the columns that hold ids of workers in a list.
var workerLists = map[string][]string{"jobs": {"planned_aloft"}, "briefings": {"aloft"}, "viewings": {"workers"}}

// ofWorker says whether a column holds the id of a worker that a merge bears on. Merges themselves are read as they stand.
func (t table) ofWorker(column string) bool {
	return t.name != "merges" && t.has(column) && t.value(reflect.New(t.rowType).Elem(), column).Type() == workerID
}

// personColumns are the places of the columns that name workers, alone or in a list.
func (t table) personColumns() (out []int) {
	for i, c := range t.columns {
		if t.ofWorker(c) || slices.Contains(workerLists[t.name], c) || t.fields[i].FieldType == reflect.TypeFor[groundhand.Duties]() {
			out = append(out, i)
		}
	}
	return out
}

// asOne puts the id that is kept wherever a row names somebody.
func (p *persons) asOne(t table, row reflect.Value) {
	for _, i := range t.people {
		switch cell := row.FieldByIndex(t.fields[i].StructField.Index).Addr().Interface().(type) {
		case *groundhand.WorkerID:
			*cell = p.keptOf(*cell)
		case *groundhand.List:
			*cell = p.listAsOne(*cell)
		case *groundhand.Duties:
			for j := range *cell {
				(*cell)[j].WorkerID = p.keptOf((*cell)[j].WorkerID)
			}
		}
	}
}

// listAsOne names nobody twice who was named by two ids.
func (p *persons) listAsOne(list groundhand.List) groundhand.List {
	if !slices.ContainsFunc(list, func(id string) bool { return p.kept[groundhand.WorkerID(id)] != "" }) {
		return list
	}
	var out groundhand.List
	for _, id := range list {
		if kept := string(p.keptOf(groundhand.WorkerID(id))); !out.Has(kept) {
			out = append(out, kept)
		}
	}
	return out
}

// keysFor turns keys into those under which rows of the same persons are found.
func keysFor[K ~string](s *Store, t table, by Field, keys []K) string {
	p := s.persons()
	if len(p.kept) == 0 || !t.ofWorker(string(by)) {
		return jsonKeys(keys)
	}
	workers := make([]groundhand.WorkerID, len(keys))
	for i, k := range keys {
		workers[i] = groundhand.WorkerID(k)
	}
	return jsonKeys(p.same(workers))
}

// withoutGone leaves out the workers that went up in others.
func (s *Store) withoutGone(t table, query *gorm.DB) *gorm.DB {
	if p := s.persons(); t.name == "workers" && len(p.kept) > 0 {
		return query.Where("id NOT IN (SELECT value FROM json_each(?))", jsonKeys(p.allGone()))
	}
	return query
}

// amongKeys is the condition that a column holds one of keys, with its argument. A staff number under which a person was known before being
// merged finds the person.
func amongKeys[K ~string](s *Store, t table, by Field, keys []K) (condition string, args []any, err error) {
	condition, err = t.among(by)
	args = []any{keysFor(s, t, by, keys)}
	p := s.persons()
	if err != nil || t.name != "workers" || by != ByNumber || len(p.kept) == 0 {
		return condition, args, err
	}
	var also []string
	for gone, kept := range p.kept {
		also = append(also, "(id = ? AND EXISTS (SELECT 1 FROM workers g WHERE g.id = ? AND g."+condition+"))")
		args = append(args, kept, gone, args[0])
	}
	return "(" + condition + " OR " + strings.Join(also, " OR ") + ")", args, nil
}
