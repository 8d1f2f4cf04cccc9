package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"net/url"
	"strings"

	"gorm.io/gorm"
	modernc "modernc.org/sqlite"

	"groundhand/internal/groundhand"
)

// pastReaders is how many may read the past at a time. It is asked for seldom.
const pastReaders = 2

// InPast reads what was recorded by a moment, that moment included, and nothing told later: for the store given to do it is that moment,
// every query is filtered and nothing can be written. Within a snapshot or another look at the past the earlier of the two moments holds.
// It cannot be asked for inside a transaction that writes. Use only the store given to do: few look at the past at a time, and one that
// asks again through the outer store may wait for itself.
func (s *Store) InPast(ctx context.Context, at groundhand.Instant, do func(seen *Store) error) error {
	switch {
	case at <= 0:
		return errors.New("the past was asked for without a moment")
	case s.frozen != 0 && s.write != nil:
		return errors.New("the past was asked for inside a transaction that writes")
	case s.looksBack:
		return s.furtherBack(ctx, at, do)
	case s.frozen != 0:
		at = min(at, s.frozen)
	}
	err := s.past.WithContext(ctx).Transaction(func(db *gorm.DB) error {
		if err := knownBy(db, at); err != nil {
			return err
		}
		then := &Store{shared: s.shared, read: db, frozen: at, looksBack: true}
		if err := then.personsThen(ctx); err != nil {
			return err
		}
		return do(then)
	})
	return coded(err)
}

// furtherBack looks at an earlier moment for a while, on the connection that looks back already.
func (s *Store) furtherBack(ctx context.Context, at groundhand.Instant, do func(seen *Store) error) error {
	if at >= s.frozen {
		return do(s)
	}
	db := s.read.WithContext(ctx)
	if err := knownBy(db, at); err != nil {
		return coded(err)
	}
	then := &Store{shared: s.shared, read: s.read, frozen: at, looksBack: true}
	err := then.personsThen(ctx)
	if err == nil {
		err = do(then)
	}
	return errors.Join(err, coded(knownBy(db, s.frozen)))
}

func knownBy(db *gorm.DB, at groundhand.Instant) error {
	return db.Exec("UPDATE temp.as_known SET at = ?", at).Error
}

// The connections that look back see every table through a view of their own, of the same name, which leaves out what was told later:
// SQLite looks for a name among what is temporary first. So no query knows whether it asks about now or then. They may not be
// query_only, which forbids temporary views too; the file itself is open for reading only.
func pastDSN(path string) string {
	return dsn(path, url.Values{"mode": {"ro"}}, "temp_store(2)")
}

func pastPool(path string) (*sql.DB, error) {
	strict()
	connector, err := modernc.NewConnector(pastDSN(path))
	if err != nil {
		return nil, err
	}
	db := sql.OpenDB(lookingBack{connector})
	db.SetMaxOpenConns(pastReaders)
	db.SetMaxIdleConns(pastReaders)
	return db, nil
}

// lookingBack gives every new connection its views.
type lookingBack struct{ driver.Connector }

// Connect opens a connection that sees nothing until it is told its moment.
func (c lookingBack) Connect(ctx context.Context) (driver.Conn, error) {
	conn, err := c.Connector.Connect(ctx)
	if err != nil {
		return nil, err
	}
	if err := hideLater(ctx, conn.(plainConn)); err != nil {
		return nil, errors.Join(fmt.Errorf("make the views of the past: %w", err), conn.Close())
	}
	return conn, nil
}

type plainConn interface {
	driver.ExecerContext
	driver.QueryerContext
}

func hideLater(ctx context.Context, conn plainConn) error {
	tables, err := columnsByTable(ctx, conn)
	if err != nil {
		return err
	}
	steps := []string{"CREATE TEMP TABLE as_known (at INTEGER NOT NULL)", "INSERT INTO temp.as_known VALUES (0)"}
	for table, columns := range tables {
		if view := viewOfThen(table, columns); view != "" {
			steps = append(steps, view)
		}
	}
	for _, step := range steps {
		if _, err := conn.ExecContext(ctx, step, nil); err != nil {
			return err
		}
	}
	return nil
}

// viewOfThen is the view that shadows a table, or entries; empty when it does not say when a row was told, and so holds no records.
func viewOfThen(table string, columns []string) string {
	const then = "(SELECT at FROM temp.as_known)"
	told := toldIn(columns)
	if told == "" {
		return ""
	}
	shown := strings.Join(columns, ", ")
	shown = strings.Replace(shown, "revoked_at", "CASE WHEN revoked_at <= "+then+" THEN revoked_at END AS revoked_at", 1) // the one thing that changes
	return "CREATE TEMP VIEW " + table + " AS SELECT " + shown + " FROM main." + table + " WHERE " + told + " <= " + then
}

func columnsByTable(ctx context.Context, conn plainConn) (map[string][]string, error) {
	rows, err := conn.QueryContext(ctx, `SELECT m.name, c.name FROM main.sqlite_schema m, pragma_table_info(m.name) c
WHERE m.type IN ('table', 'view') AND m.name NOT LIKE 'sqlite\_%' ESCAPE '\' ORDER BY m.name, c.cid`, nil)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	out := map[string][]string{}
	cells := make([]driver.Value, 2)
	for {
		switch err := rows.Next(cells); {
		case err == io.EOF:
			return out, nil
		case err != nil:
			return nil, err
		}
		table := cells[0].(string)
		out[table] = append(out[table], cells[1].(string))
	}
}
