package store

import (
	"errors"
	"regexp"
	"strings"

	"gorm.io/gorm"
	modernc "modernc.org/sqlite"

	"groundhand/internal/groundhand"
)

// coded turns what the database refused into an error with a code. Errors of gorm do not leave this package.
func coded(err error) error {
	if err == nil || len(groundhand.Refusals(err)) > 0 {
		return err
	}
	field := refusedField(err)
	switch {
	case errors.Is(err, gorm.ErrRecordNotFound):
		return groundhand.NotFound(field, "There is no such record.")
	case errors.Is(err, gorm.ErrDuplicatedKey):
		return groundhand.Conflict(field, "Something is recorded under this name or number already.")
	case errors.Is(err, gorm.ErrForeignKeyViolated):
		return groundhand.Invalid(field, "This refers to something that is not recorded.")
	case errors.Is(err, gorm.ErrCheckConstraintViolated):
		return groundhand.Invalid(field, "The records do not take this value.")
	}
	return err
}

// The database says "UNIQUE constraint failed: workers.number" or "CHECK constraint failed: role IN ('LEAD', …)"; our checks begin
// with the column they speak of.
var refusedColumn = regexp.MustCompile(`(?:UNIQUE|CHECK|NOT NULL) constraint failed: (?:\w+\.|\(+|date\(|json_valid\(|coalesce\()*(\w+)`)

func refusedField(err error) string {
	var e *modernc.Error
	if !errors.As(err, &e) {
		return ""
	}
	if m := refusedColumn.FindStringSubmatch(e.Error()); m != nil {
		return fieldName(m[1])
	}
	return ""
}

// fieldName turns a column into the name it has in a form: worker_id into workerId.
func fieldName(column string) string {
	words := strings.Split(column, "_")
	for i, w := range words[1:] {
		if w != "" {
			words[i+1] = strings.ToUpper(w[:1]) + w[1:]
		}
	}
	return strings.Join(words, "")
}
