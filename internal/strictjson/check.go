package strictjson

import (
	"strings"
	"unicode"
)

// Declare notes the ids that a list declares and where each stands, refusing empty and double ones and
// those with control characters.
func Declare[T any](f *Form, name string, items []T, id func(T) string) map[string]int {
	seen := make(map[string]int, len(items))
	for i, it := range items {
		path := Item(name, i) + ".id"
		if id(it) == "" {
			f.Refuse(path, "The id is empty.")
		} else if strings.ContainsFunc(id(it), unicode.IsControl) {
			f.Refuse(path, "The id %q holds a control character, which could garble what is printed of it; remove it.", id(it))
		} else if j, twice := seen[id(it)]; twice {
			f.Refuse(path, "The id %q is already used by %s.", id(it), Item(name, j))
		} else {
			seen[id(it)] = i
		}
	}
	return seen
}

// Known refuses an id that nobody declared.
func (f *Form) Known(path, what, id string, in map[string]int) {
	if _, ok := in[id]; !ok {
		f.Refuse(path, "There is no %s %q.", what, id)
	}
}

// KnownOrNone lets an id be empty.
func (f *Form) KnownOrNone(path, what, id string, in map[string]int) {
	if id != "" {
		f.Known(path, what, id, in)
	}
}

// KnownOnce refuses unknown ids and ids listed twice.
func (f *Form) KnownOnce(path, what string, ids []string, in map[string]int) {
	seen := map[string]bool{}
	for i, id := range ids {
		f.Known(Item(path, i), what, id, in)
		if seen[id] {
			f.Refuse(Item(path, i), "The %s %q is listed twice.", what, id)
		}
		seen[id] = true
	}
}

// Between refuses a number outside a range, both ends included.
func (f *Form) Between(path string, v, least, most int) {
	if v < least || v > most {
		f.Refuse(path, "%d is not between %d and %d.", v, least, most)
	}
}
