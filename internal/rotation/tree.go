package rotation

import (
	"bytes"
	"encoding/json"
	"io"
	"math"
	"strconv"
	"strings"

	"groundhand/internal/groundhand"
)

// deepest is how far JSON may nest; the formats need 5.
const deepest = 16

// object is a JSON object in which every name occurs once.
type object map[string]any

// parseTree reads one JSON value, refusing repeated names, deep nesting and anything after it: encoding/json would let the last of
// two equal names win silently.
func parseTree(data []byte) (any, error) {
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	v, err := parseValue(dec, "", 0)
	if err != nil {
		return nil, err
	}
	if _, err := dec.Token(); err != io.EOF {
		return nil, groundhand.Invalid("", "Something follows after the end of the JSON value; remove it.")
	}
	return v, nil
}

func parseValue(dec *json.Decoder, path string, depth int) (any, error) {
	tok, err := dec.Token()
	if err != nil {
		return nil, groundhand.Invalid(path, "This is not JSON at byte %d: %v.", dec.InputOffset(), err)
	}
	delim, ok := tok.(json.Delim)
	if !ok {
		return tok, nil
	}
	if depth == deepest {
		return nil, groundhand.Invalid(path, "This nests deeper than the format does.")
	}
	if delim == '[' {
		return parseList(dec, path, depth)
	}
	return parseObject(dec, path, depth)
}

func parseList(dec *json.Decoder, path string, depth int) (any, error) {
	list := []any{}
	for dec.More() {
		v, err := parseValue(dec, item(path, len(list)), depth+1)
		if err != nil {
			return nil, err
		}
		list = append(list, v)
	}
	return list, closeDelim(dec, path)
}

func parseObject(dec *json.Decoder, path string, depth int) (any, error) {
	obj := object{}
	for dec.More() {
		tok, err := dec.Token()
		name, ok := tok.(string)
		if err != nil || !ok {
			return nil, groundhand.Invalid(path, "This is not JSON at byte %d.", dec.InputOffset())
		}
		if _, twice := obj[name]; twice {
			return nil, groundhand.Invalid(join(path, name), "The name occurs twice; keep one.")
		}
		if obj[name], err = parseValue(dec, join(path, name), depth+1); err != nil {
			return nil, err
		}
	}
	return obj, closeDelim(dec, path)
}

func closeDelim(dec *json.Decoder, path string) error {
	if _, err := dec.Token(); err != nil {
		return groundhand.Invalid(path, "This is not JSON at byte %d: %v.", dec.InputOffset(), err)
	}
	return nil
}

// form reads a tree field by field and notes every fault under its path.
type form struct {
	groundhand.Problems
	faulty map[string]bool // paths already refused, so that a later check does not refuse them again
}

func newForm() *form { return &form{faulty: map[string]bool{}} }

// refuse notes a fault, unless the field or what holds it is refused already.
func (f *form) refuse(path, format string, args ...any) {
	for at := path; at != ""; at = at[:max(0, strings.LastIndexAny(at, ".["))] {
		if f.faulty[at] {
			return
		}
	}
	f.faulty[path] = true
	f.Add(groundhand.CodeInvalid, path, format, args...)
}

// record is one object of the form with the names not yet asked for.
type record struct {
	*form
	path string
	left object
}

func (f *form) record(path string, v any) record {
	obj, ok := v.(object)
	if !ok {
		f.refuse(path, "This must be an object, not %s.", kind(v))
		return record{f, path, nil} // its fields are not asked for, see take
	}
	return record{f, path, obj}
}

// take gives the value of a name; false when it is missing or, where allowed, null.
func (r record) take(name string, need, nullable bool) (any, string, bool) {
	path := join(r.path, name)
	v, ok := r.left[name]
	delete(r.left, name)
	switch {
	case r.left == nil:
		return nil, path, false
	case !ok && need:
		r.refuse(path, "The field is missing.")
	case ok && v == nil && nullable:
		return nil, path, false
	case ok && v == nil:
		r.refuse(path, "The field must not be null.")
		return nil, path, false
	}
	return v, path, ok
}

// done refuses the names that nobody asked for.
func (r record) done() {
	for _, name := range sortedKeys(r.left) {
		r.refuse(join(r.path, name), "The format has no such field; remove it.")
	}
}

func (r record) text(name string) string { return r.string(r.take(name, true, false)) }

// label is an optional text; null is the same as missing.
func (r record) label(name string) string { return r.string(r.take(name, false, true)) }

func (r record) string(v any, path string, ok bool) string {
	if !ok {
		return ""
	}
	s, is := v.(string)
	if !is {
		r.refuse(path, "This must be a text, not %s.", kind(v))
	} else if s == "" {
		r.refuse(path, "The text is empty.")
	}
	return s
}

func (r record) whole(name string) int {
	v, path, ok := r.take(name, true, false)
	return r.number(v, path, ok, 0)
}

func (r record) wholeOr(name string, missing int) int {
	v, path, ok := r.take(name, false, false)
	return r.number(v, path, ok, missing)
}

func (r record) number(v any, path string, ok bool, missing int) int {
	if !ok {
		return missing
	}
	n, is := v.(json.Number)
	if !is {
		r.refuse(path, "This must be a whole number, not %s.", kind(v))
		return missing
	}
	if x, err := n.Float64(); err == nil && x == math.Trunc(x) && math.Abs(x) < 1<<52 {
		return int(x) // 8.0 is as whole as 8
	}
	r.refuse(path, "%s is not a whole number in range.", n)
	return missing
}

func (r record) day(name string) groundhand.Date { return r.date(r.take(name, true, false)) }

// dayOrNone is an optional day; null is the same as missing.
func (r record) dayOrNone(name string) groundhand.Date { return r.date(r.take(name, false, true)) }

func (r record) date(v any, path string, ok bool) groundhand.Date {
	if !ok {
		return 0
	}
	s, is := v.(string)
	if !is {
		r.refuse(path, "This must be a day like 2027-03-01, not %s.", kind(v))
		return 0
	}
	d, err := groundhand.ParseDate(s)
	if err != nil {
		r.refuse(path, "%s", err)
	}
	return d
}

// list reads a list item by item; a missing list is nil, an empty one is not.
func list[T any](r record, name string, need bool, read func(r record, path string, v any) T) []T {
	v, path, ok := r.take(name, need, false)
	if !ok {
		return nil
	}
	items, is := v.([]any)
	if !is {
		r.refuse(path, "This must be a list, not %s.", kind(v))
		return nil
	}
	out := make([]T, 0, len(items))
	for i, it := range items {
		out = append(out, read(r, item(path, i), it))
	}
	return out
}

// records reads a list of objects, refusing unknown names in each.
func records[T any](r record, name string, need bool, read func(r record) T) []T {
	return list(r, name, need, func(r record, path string, v any) T {
		one := r.form.record(path, v)
		out := read(one)
		one.done()
		return out
	})
}

func texts(r record, name string, need bool) []string {
	return list(r, name, need, func(r record, path string, v any) string { return r.string(v, path, true) })
}

func days(r record, name string, need bool) []groundhand.Date {
	return list(r, name, need, func(r record, path string, v any) groundhand.Date { return r.date(v, path, true) })
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

func join(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}

func item(path string, i int) string { return path + "[" + strconv.Itoa(i) + "]" }
