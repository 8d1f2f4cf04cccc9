package rollcall

import "groundhand/internal/competence"

// tidy makes entries fit to be answered and exported. Two things can stand in the way although nothing is wrong with the records: an
// entry that names one of somebody who was not asked about, and a correction made within the second of what it corrects, because the
// file counts in whole seconds. The first name is dropped (it bears on nobody here), the second moment moves on by a second.
func tidy(entries []competence.Entry) []competence.Entry {
	t := tidier{entries: entries, at: map[string]int{}, state: map[int]settled{}}
	var naming []int
	for i := range entries {
		for _, id := range namedBy(&entries[i]) {
			t.at[id] = missing
			naming = append(naming, i)
		}
	}
	if len(naming) == 0 {
		return entries
	}
	for i := range entries {
		if _, named := t.at[entries[i].ID]; named {
			t.at[entries[i].ID] = i
		}
	}
	for _, i := range naming {
		t.settle(i)
	}
	return t.kept()
}

const missing = -1

// settled says how far an entry was looked at.
type settled uint8

const (
	unseen settled = iota
	open
	stays
	goes
)

type tidier struct {
	entries []competence.Entry
	at      map[string]int // where an entry that is named stands, or missing
	state   map[int]settled
}

// settle looks at what an entry names before the entry itself, and says whether the entry stays.
func (t *tidier) settle(i int) bool {
	if s := t.state[i]; s != unseen {
		return s == stays
	}
	t.state[i] = open // names in a circle end here
	e := &t.entries[i]
	for _, id := range namedBy(e) {
		at := t.at[id]
		if at == missing || !t.settle(at) {
			if e.Replaces == "" || e.Kind == competence.Lifting {
				t.state[i] = goes
				return false
			}
			e.Replaces = ""
			continue
		}
		if least := t.entries[at].RecordedAt + second; e.RecordedAt < least {
			e.RecordedAt = least
		}
	}
	t.state[i] = stays
	return true
}

func (t *tidier) kept() []competence.Entry {
	out := t.entries[:0]
	for i := range t.entries {
		if t.state[i] != goes {
			out = append(out, t.entries[i])
		}
	}
	return out
}

// namedBy lists the entries that an entry cannot be without.
func namedBy(e *competence.Entry) []string {
	switch {
	case e.Kind == competence.Withdrawal:
		return []string{e.Withdraws}
	case e.Kind == competence.Lifting && e.Replaces != "":
		return []string{e.Lifts, e.ByPass, e.Replaces}
	case e.Kind == competence.Lifting:
		return []string{e.Lifts, e.ByPass}
	case e.Replaces != "":
		return []string{e.Replaces}
	}
	return nil
}
