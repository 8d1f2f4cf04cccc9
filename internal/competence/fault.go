package competence

import (
	"encoding/json"
	"strconv"
	"time"
	"unicode/utf8"

	"groundhand/internal/groundhand"
)

// fault is faulty facts: where names the entry, line, rule set or question.
func fault(where, format string, args ...any) *groundhand.Error {
	return groundhand.Invalid(where, format, args...)
}

// object reads the fields of one JSON object. Names are compared exactly, null is missing, unknown fields are ignored.
// The first fault of a file is kept and everything read after it is empty, so that callers read straight through.
type object struct {
	where  string
	fields map[string]json.RawMessage
	first  *error
}

// openFile reads the outermost object.
func openFile(in []byte) object {
	file := object{where: "facts", first: new(error)}
	if !utf8.Valid(in) {
		file.fail("The file is not UTF-8 text.")
		return file
	}
	if err := json.Unmarshal(in, &file.fields); err != nil {
		file.fail("The file is not a JSON object: %v.", err)
	}
	return file
}

func (o object) fail(format string, args ...any) {
	if *o.first == nil {
		*o.first = fault(o.where, format, args...)
	}
}

// has says that a field is there and not null.
func (o object) has(name string) bool {
	raw, there := o.fields[name]
	return there && *o.first == nil && string(raw) != "null"
}

// read decodes a field into v, and says whether it was there.
func (o object) read(name string, v any, wanted string) bool {
	if !o.has(name) {
		return false
	}
	if err := json.Unmarshal(o.fields[name], v); err != nil {
		o.fail("The field %s must be %s.", name, wanted)
		return false
	}
	return true
}

// must notes a missing field.
func (o object) must(name string) {
	if !o.has(name) {
		o.fail("The field %s is missing.", name)
	}
}

// text is a field that says something: empty text would be neither missing nor meant.
func (o object) text(name string) string {
	var s string
	if o.read(name, &s, "text") && s == "" {
		o.fail("The field %s is empty; leave it out if nothing is known.", name)
	}
	return s
}

func (o object) mustText(name string) string {
	o.must(name)
	return o.text(name)
}

func (o object) flag(name string) bool {
	var b bool
	o.read(name, &b, "true or false")
	return b
}

// number is a whole number from least to most, or the one given when it is missing.
func (o object) number(name string, missing, least, most int) int {
	var n json.Number
	if !o.read(name, &n, "a whole number") {
		return missing
	}
	i, err := strconv.Atoi(n.String())
	if err != nil || i < least || i > most {
		o.fail("The field %s must be a whole number from %d to %d.", name, least, most)
	}
	return i
}

func (o object) texts(name string) []string {
	var list []string
	o.read(name, &list, "a list of texts")
	return list
}

// day is YYYY-MM-DD. The format knows every year of four digits; which years may be typed into a form is for others to say.
func (o object) day(name string) groundhand.Date {
	s := o.text(name)
	if s == "" {
		return 0
	}
	t, err := time.Parse(time.DateOnly, s)
	if err != nil || t.Year() < 1 {
		o.fail("The field %s: %q is not a day like 2025-06-12.", name, s)
		return 0
	}
	return groundhand.DateOf(t)
}

func (o object) mustDay(name string) groundhand.Date {
	o.must(name)
	return o.day(name)
}

// instant is RFC 3339 with an offset and whole seconds. The very first instant of 1970 is moved by a millisecond, which nothing
// here sees, because the zero Instant means "none".
func (o object) instant(name string) groundhand.Instant {
	s := o.text(name)
	if s == "" {
		return 0
	}
	t, err := time.Parse(time.RFC3339, s)
	if err != nil || len(s) != len("2006-01-02T15:04:05Z") && len(s) != len("2006-01-02T15:04:05+01:00") || t.Nanosecond() != 0 {
		o.fail("The field %s: %q is not an instant with an offset and whole seconds, like 2025-06-12T06:00:00+01:00.", name, s)
		return 0
	}
	if t.Unix() == 0 {
		return 1
	}
	return groundhand.InstantOf(t)
}

func (o object) mustInstant(name string) groundhand.Instant {
	o.must(name)
	return o.instant(name)
}

// inner is a field that is an object itself; without it, an object without fields.
func (o object) inner(name string) object {
	in := object{where: o.where, first: o.first}
	o.read(name, &in.fields, "an object")
	return in
}

// each reads a list of objects that have an id, naming each by it.
func (o object) each(name, called string, read func(object)) {
	var raws []json.RawMessage
	o.must(name)
	o.read(name, &raws, "a list")
	for i, raw := range raws {
		in := object{where: called + " " + strconv.Itoa(i+1), first: o.first}
		if err := json.Unmarshal(raw, &in.fields); err != nil || in.fields == nil {
			in.fail("This must be an object.")
		}
		if id := in.mustText("id"); id != "" {
			in.where = called + " " + id
		}
		if *o.first != nil {
			return
		}
		read(in)
	}
}
