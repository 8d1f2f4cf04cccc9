package strictjson

import (
	"encoding/json"
	"maps"
	"math"
	"slices"
	"strings"

	"groundhand/internal/groundhand"
)

// Form reads one file field by field and notes every fault under the path of its field, as "slots[3].seats".
type Form struct {
	groundhand.Problems
	faulty map[string]bool // paths already refused, so that a later check does not refuse them again
}

// NewForm is a form without a fault.
func NewForm() *Form { return &Form{faulty: map[string]bool{}} }

// Open reads a file of at most so many bytes, which must be an object whose format is the one named. Nothing more can be read when ok is
// false.
func (f *Form) Open(data []byte, format string, most int) (r Record, ok bool) {
	if len(data) > most {
		f.Add(groundhand.CodeTooLarge, "", "The file is larger than %d MB.", most>>20)
		return Record{}, false
	}
	tree, err := Parse(data)
	if f.Take("", err) != nil || f.Any() {
		return Record{}, false
	}
	r = f.Object("", tree)
	if r.left == nil {
		return r, false
	}
	if got := r.Text("format"); got != format {
		f.Refuse("format", "The format is %q, not %q.", got, format)
	}
	return r, true
}

// Refused says whether a field was refused by itself.
func (f *Form) Refused(path string) bool { return f.faulty[path] }

// Refuse notes a fault, unless the field or what holds it is refused already.
func (f *Form) Refuse(path, format string, args ...any) {
	for at := path; at != ""; at = at[:max(0, strings.LastIndexAny(at, ".["))] {
		if f.faulty[at] {
			return
		}
	}
	f.faulty[path] = true
	f.Add(groundhand.CodeInvalid, path, format, args...)
}

// Record is one object of the form with the names not yet asked for.
type Record struct {
	*Form
	path string
	left object
}

// Object reads a value as an object; what is none is refused, and its fields are not asked for.
func (f *Form) Object(path string, v any) Record {
	obj, ok := v.(object)
	if !ok {
		f.Refuse(path, "This must be an object, not %s.", kind(v))
		return Record{f, path, nil}
	}
	return Record{f, path, obj}
}

// Value gives the value of a name; false when it is missing or, where allowed, null.
func (r Record) Value(name string, need, nullable bool) (any, string, bool) {
	path := Join(r.path, name)
	v, ok := r.left[name]
	delete(r.left, name)
	switch {
	case r.left == nil:
		return nil, path, false
	case !ok && need:
		r.Refuse(path, "The field is missing.")
	case ok && v == nil && nullable:
		return nil, path, false
	case ok && v == nil:
		r.Refuse(path, "The field must not be null.")
		return nil, path, false
	}
	return v, path, ok
}

// Done refuses the names that nobody asked for.
func (r Record) Done() {
	for _, name := range slices.Sorted(maps.Keys(r.left)) {
		r.Refuse(Join(r.path, name), "The format has no such field; remove it.")
	}
}

// Text is a text that must be there and say something.
func (r Record) Text(name string) string { return r.string(r.Value(name, true, false)) }

// Label is an optional text; null is the same as missing.
func (r Record) Label(name string) string { return r.string(r.Value(name, false, true)) }

func (r Record) string(v any, path string, ok bool) string {
	if !ok {
		return ""
	}
	s, is := v.(string)
	if !is {
		r.Refuse(path, "This must be a text, not %s.", kind(v))
	} else if s == "" {
		r.Refuse(path, "The text is empty.")
	}
	return s
}

// Whole is a whole number that must be there.
func (r Record) Whole(name string) int {
	v, path, ok := r.Value(name, true, false)
	return r.number(v, path, ok, 0)
}

// WholeOr is a whole number that may be missing.
func (r Record) WholeOr(name string, missing int) int {
	v, path, ok := r.Value(name, false, false)
	return r.number(v, path, ok, missing)
}

func (r Record) number(v any, path string, ok bool, missing int) int {
	if !ok {
		return missing
	}
	n, is := v.(json.Number)
	if !is {
		r.Refuse(path, "This must be a whole number, not %s.", kind(v))
		return missing
	}
	if x, err := n.Float64(); err == nil && x == math.Trunc(x) && math.Abs(x) < 1<<52 {
		return int(x) // 8.0 is as whole as 8
	}
	r.Refuse(path, "%s is not a whole number in range.", n)
	return missing
}

// Day is a calendar day that must be there.
func (r Record) Day(name string) groundhand.Date { return r.date(r.Value(name, true, false)) }

// DayOrNone is an optional day; null is the same as missing.
func (r Record) DayOrNone(name string) groundhand.Date { return r.date(r.Value(name, false, true)) }

func (r Record) date(v any, path string, ok bool) groundhand.Date {
	if !ok {
		return 0
	}
	s, is := v.(string)
	if !is {
		r.Refuse(path, "This must be a day like 2027-03-01, not %s.", kind(v))
		return 0
	}
	d, err := groundhand.ParseDate(s)
	if err != nil {
		r.Refuse(path, "%s", err)
	}
	return d
}

// List reads a list item by item; a missing list is nil, an empty one is not.
func List[T any](r Record, name string, need bool, read func(r Record, path string, v any) T) []T {
	v, path, ok := r.Value(name, need, false)
	if !ok {
		return nil
	}
	items, is := v.([]any)
	if !is {
		r.Refuse(path, "This must be a list, not %s.", kind(v))
		return nil
	}
	out := make([]T, 0, len(items))
	for i, it := range items {
		out = append(out, read(r, Item(path, i), it))
	}
	return out
}

// Records reads a list of objects, refusing unknown names in each.
func Records[T any](r Record, name string, need bool, read func(r Record) T) []T {
	return List(r, name, need, func(r Record, path string, v any) T {
		one := r.Object(path, v)
		out := read(one)
		one.Done()
		return out
	})
}

// Texts reads a list of texts, none of them empty.
func Texts(r Record, name string, need bool) []string {
	return List(r, name, need, func(r Record, path string, v any) string { return r.string(v, path, true) })
}

// Days reads a list of calendar days.
func Days(r Record, name string, need bool) []groundhand.Date {
	return List(r, name, need, func(r Record, path string, v any) groundhand.Date { return r.date(v, path, true) })
}

func kind(v any) string {
	switch v.(type) {
	case nil:
		return "null"
	case bool:
		return "true or false"
	case string:
		return "a text"
	case json.Number:
		return "a number"
	case []any:
		return "a list"
	}
	return "an object"
}
