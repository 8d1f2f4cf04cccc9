package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"slices"
	"sync"
	"time"

	"github.com/google/uuid"
	"github.com/pressly/goose/v3"
	"gorm.io/driver/sqlite"
	"gorm.io/gorm"
	modernc "modernc.org/sqlite"
)

// Options are what a store is given from outside.
type Options struct {
	Now      func() time.Time // the clock; must be set
	NewID    func() string    // makes identifiers that sort in the order they were made; nil: UUID version 7
	ReadOnly bool             // neither creates nor migrates; every Add is refused
	Random   io.Reader        // where the salts of the log come from; nil: the system's randomness
	NoLog    bool             // write no log, which only the measurement of what the log costs may do
}

// readers is how many connections read at a time. One writer and some readers keep the worst wait of a writer short, because
// database/sql queues writers fairly and SQLite's busy handler does not.
const readers = 4

//go:embed migrations
var migrations embed.FS

// Open opens the records at path, creating and migrating them unless ReadOnly. Close it when done.
func Open(path string, o Options) (*Store, error) {
	if o.Now == nil {
		return nil, errors.New("the store needs a clock")
	}
	if o.NewID == nil {
		o.NewID = newUUID
	}
	s := &Store{shared: &shared{now: o.Now, newID: o.NewID, random: randomness(o.Random), noLog: o.NoLog}}
	if err := s.connect(path, o.ReadOnly); err != nil {
		return nil, errors.Join(fmt.Errorf("open the records at %s: %w", path, err), s.Close())
	}
	return s, nil
}

func (s *Store) connect(path string, readOnly bool) error {
	if !readOnly {
		writer, err := pool(writerDSN(path), 1)
		if err != nil {
			return err
		}
		s.pools = append(s.pools, writer)
		if err := migrate(writer); err != nil {
			return err
		}
		if s.write, err = s.gorm(writer); err != nil {
			return err
		}
	}
	reader, err := pool(readerDSN(path), readers)
	if err != nil {
		return err
	}
	s.pools = append(s.pools, reader)
	if s.read, err = s.gorm(reader); err != nil {
		return err
	}
	if err := s.beginPersons(context.Background()); err != nil {
		return err
	}
	past, err := pastPool(path)
	if err != nil {
		return err
	}
	s.pools = append(s.pools, past)
	if s.past, err = s.gorm(past); err != nil || readOnly || s.noLog {
		return err
	}
	return s.beginLog(context.Background())
}

// Close ends all connections, the writer's last: it folds the log back into the file, which readers cannot.
func (s *Store) Close() error {
	var errs []error
	for _, p := range slices.Backward(s.pools) {
		errs = append(errs, p.Close())
	}
	return errors.Join(errs...)
}

// strict refuses a pragma of more than one statement, which would run as SQL. It is a setting of the whole driver.
var strict = sync.OnceFunc(func() { modernc.StrictPragmas(true) })

func pool(dsn string, size int) (*sql.DB, error) {
	strict()
	connector, err := modernc.NewConnector(dsn)
	if err != nil {
		return nil, err
	}
	db := sql.OpenDB(connector)
	db.SetMaxOpenConns(size)
	db.SetMaxIdleConns(size)
	return db, nil
}

// Records are evidence, so every commit is on the disk before it is answered (synchronous FULL). Without an immediate transaction
// most transactions that read and then write would fail as soon as two run at once. recursive_triggers makes INSERT OR REPLACE
// meet the trigger that forbids removal. secure_delete overwrites what is erased, which would else stay legible in the free space of the file.
func writerDSN(path string) string {
	return dsn(path, url.Values{"_journal_mode": {"WAL"}, "_synchronous": {"FULL"}, "_txlock": {"immediate"}}, "secure_delete(1)")
}

func readerDSN(path string) string {
	return dsn(path, url.Values{"mode": {"ro"}, "_query_only": {"1"}})
}

func dsn(path string, q url.Values, more ...string) string {
	q.Set("_busy_timeout", "5000")
	q.Set("_foreign_keys", "on")
	q.Set("_dqs", "0")
	q.Set("_defensive", "1")
	q["_pragma"] = append([]string{"cache_size(-16000)", "trusted_schema(0)", "recursive_triggers(1)"}, more...)
	return "file:" + (&url.URL{Path: path}).EscapedPath() + "?" + q.Encode()
}

func migrate(db *sql.DB) error {
	steps, err := fs.Sub(migrations, "migrations/sqlite")
	if err != nil {
		return err
	}
	provider, err := goose.NewProvider(goose.DialectSQLite3, db, steps)
	if err != nil {
		return err
	}
	_, err = provider.Up(context.Background())
	return err
}

// gorm opens the mapper over a pool. Its own logger would print bound values, that is names; ours only counts.
func (s *Store) gorm(db *sql.DB) (*gorm.DB, error) {
	return gorm.Open(dialect{&sqlite.Dialector{Conn: db}}, &gorm.Config{
		TranslateError:         true,
		PrepareStmt:            true,
		PrepareStmtMaxSize:     256,
		SkipDefaultTransaction: true,
		Logger:                 counter{&s.statements},
		NowFunc:                s.now,
	})
}

func newUUID() string { return uuid.Must(uuid.NewV7()).String() }
