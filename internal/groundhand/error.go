package groundhand

import (
	"errors"
	"fmt"
	"strings"
)

// Code says what kind of refusal an Error is. The set is closed: every mouth has one table from code to reply.
type Code string

// The codes. An error without one is internal and its text never leaves the program.
const (
	CodeInvalid         Code = "INVALID"         // the form is wrong; Field says where
	CodeNotFound        Code = "NOT_FOUND"       // an id that nobody has
	CodeConflict        Code = "CONFLICT"        // contradicts what is recorded
	CodeForbidden       Code = "FORBIDDEN"       // this account may not do that
	CodeUnauthenticated Code = "UNAUTHENTICATED" // no token, or one that is not good
	CodeTooLarge        Code = "TOO_LARGE"       // more than will be read in one go
)

// Codes lists the closed set, for the tests of the tables.
var Codes = []Code{CodeInvalid, CodeNotFound, CodeConflict, CodeForbidden, CodeUnauthenticated, CodeTooLarge}

// Error lets a code be matched with errors.Is.
func (c Code) Error() string { return string(c) }

// Error is a refusal that a person can act on.
type Error struct {
	Code    Code
	Field   string // path of the field in the form, as "runs[2].marks"; empty when the whole is meant
	Message string // a whole sentence: what is wrong and what to do
}

func (e *Error) Error() string {
	if e.Field == "" {
		return e.Message
	}
	return e.Field + ": " + e.Message
}

// Unwrap makes errors.Is(err, CodeNotFound) true.
func (e *Error) Unwrap() error { return e.Code }

// Errors are all refusals of one form. It is an error itself; use Problems to build it.
type Errors []*Error

func (es Errors) Error() string {
	lines := make([]string, len(es))
	for i, e := range es {
		lines[i] = e.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap makes errors.Is and errors.As see each refusal.
func (es Errors) Unwrap() []error {
	out := make([]error, len(es))
	for i, e := range es {
		out[i] = e
	}
	return out
}

// Problems collects the refusals of a form, so that all are shown at once.
type Problems struct{ list Errors }

// Add notes a refusal.
func (p *Problems) Add(code Code, field, format string, args ...any) {
	p.list = append(p.list, &Error{code, field, fmt.Sprintf(format, args...)})
}

// Take notes the refusals inside err under a field prefix and gives back what was no refusal.
func (p *Problems) Take(prefix string, err error) error {
	if err == nil {
		return nil
	}
	for _, e := range Refusals(err) {
		p.list = append(p.list, &Error{e.Code, joinField(prefix, e.Field), e.Message})
	}
	if len(Refusals(err)) > 0 {
		return nil
	}
	return err
}

// Any says whether something was refused.
func (p *Problems) Any() bool { return len(p.list) > 0 }

// Err is nil when nothing was refused.
func (p *Problems) Err() error {
	if len(p.list) == 0 {
		return nil
	}
	return p.list
}

// Refusals lists the coded errors inside err; empty for an internal error.
func Refusals(err error) []*Error {
	var many Errors
	if errors.As(err, &many) {
		return many
	}
	var one *Error
	if errors.As(err, &one) {
		return []*Error{one}
	}
	return nil
}

func joinField(prefix, field string) string {
	switch {
	case prefix == "":
		return field
	case field == "" || strings.HasPrefix(field, "["):
		return prefix + field
	}
	return prefix + "." + field
}

// Invalid is a refused field.
func Invalid(field, format string, args ...any) *Error {
	return &Error{CodeInvalid, field, fmt.Sprintf(format, args...)}
}

// NotFound is an id that nobody has.
func NotFound(field, format string, args ...any) *Error {
	return &Error{CodeNotFound, field, fmt.Sprintf(format, args...)}
}

// Conflict contradicts what is recorded.
func Conflict(field, format string, args ...any) *Error {
	return &Error{CodeConflict, field, fmt.Sprintf(format, args...)}
}

// Forbidden is an act that the account may not do.
func Forbidden(format string, args ...any) *Error {
	return &Error{CodeForbidden, "", fmt.Sprintf(format, args...)}
}
