// Package checklist holds the lists that kits and devices are looked at by, as dated versions in our own wording. They are the skeleton of
// a sheet: common practice, no source. The maker's instructions, local rules and the employer's own approved sheet come first, and no list
// here says that a law is met.
package checklist

import (
	"slices"

	"groundhand/internal/groundhand"
)

// Thing is what a list is for.
type Thing string

// The things.
const (
	Kit    Thing = "KIT"
	Device Thing = "DEVICE"
)

// Source is where all lists come from.
const Source = "common practice, no source"

// Caution stands beside a list wherever it is shown.
const Caution = "The maker's instructions, local rules and the employer's own approved sheet come first. Whoever is not sure takes it out of service."

// LoweringTimed is the line that says that the seconds of the emergency lowering were taken.
const LoweringTimed = "lowering-timed"

// List is one version of a list. A version is never changed: another one holds from a later day.
type List struct {
	ID      string // as it stands in an inspection, "kit-outside-1"
	Title   string
	Kind    groundhand.InspectionKind
	Of      Thing
	Version int
	From    groundhand.Date // the first day on which it holds
	Lines   []Line
}

// Line is one thing to look at.
type Line struct {
	Key         string // short and stable, as it stands in an inspection
	Words       string // what is in order
	Critical    bool   // not in order: out of service, with no grace
	MayNotApply bool   // a critical line that some things do not have
}

// All lists every version, in the order in which they are shown.
func All() []List {
	out := make([]List, len(lists))
	for i, l := range lists {
		out[i] = l.clone()
	}
	return out
}

// For is the list that holds on a day for a kind of look at a thing; false when there is none.
func For(kind groundhand.InspectionKind, of Thing, day groundhand.Date) (List, bool) {
	best := -1
	for i, l := range lists {
		if l.Kind == kind && l.Of == of && l.From <= day && (best < 0 || lists[best].From <= l.From) {
			best = i
		}
	}
	if best < 0 {
		return List{}, false
	}
	return lists[best].clone(), true
}

// ByID is the list with an id; false for one that nobody knows.
func ByID(id string) (List, bool) {
	for _, l := range lists {
		if l.ID == id {
			return l.clone(), true
		}
	}
	return List{}, false
}

// Line is the line with a key; false for one that is not on the list.
func (l List) Line(key string) (Line, bool) {
	i := slices.IndexFunc(l.Lines, func(line Line) bool { return line.Key == key })
	if i < 0 {
		return Line{}, false
	}
	return l.Lines[i], true
}

// clone keeps what is handed out from being written back into the lists.
func (l List) clone() List {
	l.Lines = slices.Clone(l.Lines)
	return l
}

// Answered answers every line of a list with yes, but for the exceptions. It gives nothing for a list that nobody knows.
func Answered(id string, except map[string]groundhand.StepAnswer) groundhand.InspectionLines {
	l, _ := ByID(id)
	var out groundhand.InspectionLines
	for _, line := range l.Lines {
		found := groundhand.StepYes
		if other, is := except[line.Key]; is {
			found = other
		}
		out = append(out, groundhand.InspectionLine{Line: line.Key, Critical: line.Critical, Found: found})
	}
	return out
}
