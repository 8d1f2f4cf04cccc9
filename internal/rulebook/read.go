package rulebook

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"groundhand/internal/groundhand"
)

// body is the stored form. Its parts are read one by one, so that a fault in one does not hide the faults in the others.
type body struct {
	LeadDays    *int              `json:"lead_days"`
	Lines       []json.RawMessage `json:"lines"`
	Asks        []json.RawMessage `json:"asks"`
	Cover       json.RawMessage   `json:"cover"`
	Inspections json.RawMessage   `json:"inspections"`
}

const (
	usualLeadDays = 60
	mostLeadDays  = 366
	longestBody   = 1 << 20 // bytes; a rule set is a page, not a book
	mostLines     = 500     // of lines and of asks: hostile input is bounded before it is looked at
)

// Read checks the body of a rule set and gives what it says. All faults come back at once as groundhand.Errors, each with the path of its
// field, as "lines[2].interval".
//
// What was read is kept by its text, because the same few bodies are asked for with every question: nobody may change what Read gives.
func Read(text string) (Rules, error) {
	if r, known := kept.get(text); known {
		return r, nil
	}
	r, err := read(text)
	if err == nil {
		kept.put(text, r)
	}
	return r, err
}

func read(text string) (Rules, error) {
	if len(text) > longestBody {
		return Rules{}, &groundhand.Error{Code: groundhand.CodeTooLarge, Message: "The rules are longer than a mebibyte; a rule set is a page of lines."}
	}
	var b body
	if err := strict([]byte(text), &b); err != nil {
		return Rules{}, groundhand.Invalid("", "The rules are not readable: %s.", err)
	}
	if len(b.Lines) > mostLines || len(b.Asks) > mostLines {
		return Rules{}, &groundhand.Error{Code: groundhand.CodeTooLarge, Message: fmt.Sprintf("The rules have more than %d lines or asks.", mostLines)}
	}
	var p groundhand.Problems
	ls := readLines(&p, b.Lines)
	r := Rules{Standing: ls.read, Asks: readAsks(&p, b.Asks, ls), Cover: readCover(&p, b.Cover, ls), LeadDays: readLeadDays(&p, b.LeadDays),
		Inspections: readInspections(&p, b.Inspections)}
	if p.Any() {
		return Rules{}, p.Err()
	}
	return r, nil
}

func readLeadDays(p *groundhand.Problems, given *int) int {
	if given == nil {
		return usualLeadDays
	}
	if *given < 1 || *given > mostLeadDays {
		p.Add(groundhand.CodeInvalid, "lead_days", "The lead time is 1 to %d days.", mostLeadDays)
	}
	return *given
}

// strict reads one JSON value without unknown fields and without anything after it: a mistyped field must not pass as a missing one.
func strict(text []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("something follows the end of the value")
	}
	return nil
}
