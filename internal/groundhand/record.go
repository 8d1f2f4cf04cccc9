package groundhand

import (
	"database/sql/driver"
	"encoding/json"
	"fmt"
)

// Recorded is what every recorded fact or act carries: both clocks, who entered it and how it came in. Nothing is ever changed or
// removed: a correction is a new record whose ReplacesID names the old one, and a Withdrawal names what no longer holds.
type Recorded struct {
	HappenedOn Date     // the local day it happened or begins to hold
	HappenedAt Instant  // the moment, where it is known; zero when only the day is
	RecordedAt Instant  // when we were told
	AuthorID   WorkerID // who entered it
	Capacity   Capacity // in which role the author did so
	CameBy     Origin
	ReplacesID EntryID // the record that this one corrects; empty for none
	Because    string  // why the correction was made
}

// Told gives both clocks and the author, for code that handles any record.
func (r *Recorded) Told() *Recorded { return r }

// Origin is the way an entry came in.
type Origin string

// The ways.
const (
	TypedLive Origin = "TYPED_LIVE" // entered at the time, at a desk or in the yard
	Offline   Origin = "OFFLINE"    // captured without signal and sent later
	FromPaper Origin = "FROM_PAPER" // transcribed from a paper sheet
	Imported  Origin = "IMPORTED"   // read from a file
	Elsewhere Origin = "ELSEWHERE"  // told by another employer
)

// Withdrawal says that a record no longer holds; the record stays readable. A withdrawal can itself be withdrawn.
type Withdrawal struct {
	ID EntryID
	Recorded
	WithdrawsID EntryID
}

// Answer is yes, no or unknown: not knowing is never yes.
type Answer string

// The answers.
const (
	Yes     Answer = "YES"
	No      Answer = "NO"
	Unknown Answer = "UNKNOWN"
)

// List is a short list of words kept in one column as JSON text.
type List []string

// Value stores the list as JSON; an empty list as [].
func (l List) Value() (driver.Value, error) { return jsonText([]string(l), len(l) == 0) }

// Scan reads what Value stored.
func (l *List) Scan(src any) error { return scanJSON(src, (*[]string)(l)) }

// Has says whether the list holds a word.
func (l List) Has(word string) bool {
	for _, w := range l {
		if w == word {
			return true
		}
	}
	return false
}

func jsonText(v any, empty bool) (driver.Value, error) {
	if empty {
		return "[]", nil
	}
	b, err := json.Marshal(v)
	return string(b), err
}

// scanJSON reads a list; an empty one is nil again.
func scanJSON[E any](src any, into *[]E) error {
	*into = nil
	switch v := src.(type) {
	case nil:
		return nil
	case string:
		if v == "[]" {
			return nil
		}
		return json.Unmarshal([]byte(v), into)
	case []byte:
		return scanJSON(string(v), into)
	}
	return fmt.Errorf("a list cannot be read from %T", src)
}
