package store

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"gorm.io/driver/sqlite"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"
	modernc "modernc.org/sqlite"
)

// dialect is gorm's own for SQLite with errors read from the driver that is used here, whose error type the stock one cannot read.
type dialect struct{ *sqlite.Dialector }

// Extended result codes, from https://www.sqlite.org/rescode.html.
const (
	codeCheck      = 275
	codeForeignKey = 787
	codeNotNull    = 1299
	codePrimaryKey = 1555
	codeUnique     = 2067
	codeRowID      = 2579
	codeDataType   = 3091 // a value of the wrong type for a STRICT table
)

// Translate names what the database refused. The cause stays wrapped: it names the column.
func (d dialect) Translate(err error) error {
	var e *modernc.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code() {
	case codePrimaryKey, codeUnique, codeRowID:
		return fmt.Errorf("%w: %w", gorm.ErrDuplicatedKey, err)
	case codeForeignKey:
		return fmt.Errorf("%w: %w", gorm.ErrForeignKeyViolated, err)
	case codeCheck, codeNotNull, codeDataType:
		return fmt.Errorf("%w: %w", gorm.ErrCheckConstraintViolated, err)
	}
	return err
}

// counter is a gorm logger that writes nothing and counts the statements sent.
type counter struct{ n *atomic.Uint64 }

func (c counter) LogMode(logger.LogLevel) logger.Interface                        { return c }
func (c counter) Info(context.Context, string, ...any)                            {}
func (c counter) Warn(context.Context, string, ...any)                            {}
func (c counter) Error(context.Context, string, ...any)                           {}
func (c counter) Trace(context.Context, time.Time, func() (string, int64), error) { c.n.Add(1) }
