package readiness

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"groundhand/internal/groundhand"
)

// form is a place in a JSON document that knows its path, so that every fault is told with the field it is in, all at once.
type form struct {
	path   string
	value  any // nil when missing or null
	faults *groundhand.Problems
}

func (f form) field(name string) form {
	object, ok := f.value.(map[string]any)
	if f.value != nil && !ok {
		f.refuse("This must be an object with named fields.")
	}
	path := name
	if f.path != "" {
		path = f.path + "." + name
	}
	return form{path, object[name], f.faults}
}

func (f form) names() []string {
	object, _ := f.value.(map[string]any)
	names := make([]string, 0, len(object))
	for name := range object {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

func (f form) missing() bool { return f.value == nil }

func (f form) refuse(message string) {
	f.faults.Add(groundhand.CodeInvalid, f.path, "%s", message)
}

// list gives the entries; a list that is missing is empty.
func (f form) list() []form {
	entries, ok := f.value.([]any)
	if !f.missing() && !ok {
		f.refuse("This must be a list.")
	}
	forms := make([]form, len(entries))
	for i, entry := range entries {
		forms[i] = form{fmt.Sprintf("%s[%d]", f.path, i), entry, f.faults}
	}
	return forms
}

func each[T any](f form, read func(form) T) []T {
	entries := f.list()
	out := make([]T, len(entries))
	for i, entry := range entries {
		out[i] = read(entry)
	}
	return out
}

// text reads words; missing is empty.
func (f form) text() string {
	s, ok := f.value.(string)
	if !f.missing() && !ok {
		f.refuse("This must be text.")
	}
	return s
}

// name reads words that must be there.
func (f form) name() string {
	s := f.text()
	if f.missing() || f.value == "" {
		f.refuse("This must not be empty.")
	}
	return s
}

func named[T ~string](f form) T { return T(f.name()) }

func (f form) flag() bool {
	b, ok := f.value.(bool)
	if !ok {
		f.refuse("This must be true or false; not sure is false.")
	}
	return b
}

// yesNo reads yes, no or unknown; missing is unknown.
func (f form) yesNo() YesNo {
	if f.missing() {
		return Unknown
	}
	i := -1
	if s, ok := f.value.(string); ok {
		i = slices.Index(yesNoNames, s)
	}
	if i < 0 {
		f.refuse("This must be yes, no or unknown.")
		return Unknown
	}
	return YesNo(i)
}

// asked is yesNo for a field that may be unknown but not left out.
func (f form) asked() YesNo {
	if f.missing() {
		f.refuse("This must be said: yes, no or unknown.")
	}
	return f.yesNo()
}

// maxNumber is the largest whole number read: figures beyond it are typing errors, and sums and products of these stay in range.
const maxNumber = 1_000_000

// number reads a whole number; missing is not known.
func (f form) number() *int {
	if f.missing() {
		return nil
	}
	n, _ := f.value.(json.Number)
	i, err := n.Int64()
	if err != nil || i > maxNumber || i < -maxNumber {
		f.refuse("This must be a whole number of at most a million.")
		return nil
	}
	v := int(i)
	return &v
}

// count reads a whole number that must be there.
func (f form) count() int {
	n := f.number()
	if f.missing() {
		f.refuse("This number is missing.")
	}
	if n == nil {
		return 0
	}
	return *n
}

// countOr reads a whole number that may be left out.
func (f form) countOr(usual int) int {
	if f.missing() {
		return usual
	}
	return f.count()
}

// perhaps is asked for a field that may be left out: nil then.
func (f form) perhaps() *YesNo {
	if f.missing() {
		return nil
	}
	y := f.yesNo()
	return &y
}

// needed refuses a field that is left out.
func (f form) needed() form {
	if f.missing() {
		f.refuse("This must be given.")
	}
	return f
}

// day reads YYYY-MM-DD; missing is no day.
func (f form) day() groundhand.Date {
	if f.missing() {
		return 0
	}
	d, err := groundhand.ParseDate(f.text())
	if err != nil {
		f.refuse("This must be a day like 2025-06-12.")
	}
	return d
}

// instant reads RFC 3339 with an offset; missing is no moment.
func (f form) instant() groundhand.Instant {
	if f.missing() {
		return 0
	}
	t, err := time.Parse(time.RFC3339, f.text())
	if err != nil {
		f.refuse("This must be a time with its offset, like 2025-06-12T06:00:00+01:00.")
	}
	return groundhand.InstantOf(t)
}

// edge reads where a span begins: a day or an instant.
func (f form) edge() Edge {
	if d, err := groundhand.ParseDate(f.text()); err == nil {
		return Edge{Day: d}
	}
	if f.missing() {
		f.refuse("This must be a day or a time with its offset.")
	}
	return Edge{At: f.instant()}
}
