package store

import (
	"context"
	"database/sql"
	"io"
	"sync"
	"sync/atomic"
	"time"

	"gorm.io/gorm"

	"groundhand/internal/groundhand"
	"groundhand/internal/ledger"
)

// Store is the records, or the records as one transaction sees them.
type Store struct {
	*shared
	write, read *gorm.DB           // the same inside a transaction; write is nil when opened for reading only
	frozen      groundhand.Instant // the moment of this transaction; zero outside
	looksBack   bool               // sees only what was told by the frozen moment
	journal     *journal           // the leaves of this transaction
	people      *persons           // who is one person in this snapshot; nil: as it is known outside
}

type shared struct {
	now        func() time.Time
	newID      func() string
	statements atomic.Uint64
	pools      []*sql.DB
	past       *gorm.DB // its connections look back
	random     io.Reader
	noLog      bool

	mu       sync.Mutex
	clock    groundhand.Instant // what the clock last showed
	last     groundhand.Instant // moment of the last transaction
	frontier ledger.Frontier    // of the log, as this program left it last

	settling sync.Mutex // held while statements are kept

	merges     atomic.Pointer[persons] // who is one person
	mergeOrder atomic.Uint64
}

// Now is the present moment. It is frozen inside a transaction.
func (s *Store) Now() groundhand.Instant {
	if s.frozen != 0 {
		return s.frozen
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.notBefore(s.last)
	s.last = min(s.last, now)
	return now
}

// NewID makes an identifier that nobody has.
func (s *Store) NewID() string { return s.newID() }

// Statements is the number of SQL statements sent so far; tests count with it.
func (s *Store) Statements() uint64 { return s.statements.Load() }

// InTx does everything or nothing. Inside another transaction a failure undoes what was done inside alone. Use only the store given
// to do: the records have one writer at a time, so writing through the outer store inside would wait for ever.
func (s *Store) InTx(ctx context.Context, do func(tx *Store) error) error {
	if s.write == nil {
		return groundhand.Forbidden("The records are open for reading only.")
	}
	if s.frozen != 0 {
		return coded(s.write.WithContext(ctx).Transaction(func(db *gorm.DB) error { return s.over(db).within(do) }))
	}
	var edge ledger.Frontier
	notes := &journal{}
	err := s.write.WithContext(ctx).Transaction(func(db *gorm.DB) (err error) {
		tx := s.over(db)
		tx.frozen, tx.journal = s.nextMoment(), notes
		if err := do(tx); err != nil || s.noLog {
			return err
		}
		edge, err = tx.writeLeaves(ctx, tx.journal.leaves)
		return err
	})
	if err == nil {
		s.keepPersons(notes.people)
	}
	if err == nil && edge.Size() > 0 {
		s.keepEdge(edge)
	}
	if err == nil && notes.erased {
		s.foldBack(ctx)
	}
	return coded(err)
}

// over is the store as a transaction sees it.
func (s *Store) over(db *gorm.DB) *Store {
	return &Store{shared: s.shared, write: db, read: db, frozen: s.frozen, journal: s.journal, people: s.people}
}

// within does something inside a transaction. What fails, or panics, takes its leaves back.
func (s *Store) within(do func(tx *Store) error) error {
	before, people, done := len(s.journal.leaves), s.journal.people, false
	defer func() {
		if !done {
			s.journal.leaves, s.journal.people = s.journal.leaves[:before], people
		}
	}()
	err := do(s)
	done = err == nil
	return err
}

// InSnapshot reads everything as of one moment: what others write meanwhile is not seen. Nothing can be written through the store
// given to do. Inside a transaction it is that transaction.
func (s *Store) InSnapshot(ctx context.Context, do func(seen *Store) error) error {
	if s.frozen != 0 {
		return do(s)
	}
	err := s.read.WithContext(ctx).Transaction(func(db *gorm.DB) error {
		return do(&Store{shared: s.shared, read: db, frozen: s.Now(), people: s.persons()})
	}, &sql.TxOptions{ReadOnly: true})
	s.keepStatements(ctx)
	return coded(err)
}

// clockStep is the largest step backwards of the clock, in milliseconds, that is bridged instead of believed.
const clockStep = 1000

// nextMoment gives every transaction a moment of its own, so that a correction is always recorded after what it corrects even
// when both come within one millisecond or the clock is set back a little between them.
func (s *Store) nextMoment() groundhand.Instant {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.last = s.notBefore(s.last + 1)
	return s.last
}

// notBefore is the clock's moment or, where the clock stands still or stepped back a little, least.
func (s *Store) notBefore(least groundhand.Instant) groundhand.Instant {
	now := groundhand.InstantOf(s.now())
	believed := now < s.clock-clockStep
	s.clock = now
	if believed {
		return now
	}
	return max(now, least)
}
