package competence

import (
	"bytes"
	"encoding/json"
)

// Encode writes facts in the standing-facts/1 format, one record a line, so that two exports can be compared with ordinary tools.
func (f Facts) Encode() ([]byte, error) {
	var out bytes.Buffer
	head := []member{{"format", Format}, {"name", f.Name}, {"zone", f.Zone}}
	err := writeLines(&out, head, lines("rule_sets", f.RuleSets), lines("entries", f.Entries), lines("questions", f.Questions))
	return out.Bytes(), err
}

// member is a name and a value of a JSON object.
type member struct {
	name  string
	value any
}

// list is a name and the records of a JSON array.
type list struct {
	name    string
	records []any
}

func lines[T any](name string, records []T) list {
	out := list{name, make([]any, len(records))}
	for i := range records {
		out.records[i] = &records[i]
	}
	return out
}

// writeLines writes one JSON object: the members of the head, then each list with a record a line.
func writeLines(out *bytes.Buffer, head []member, lists ...list) error {
	sep := "{\n "
	for _, m := range head {
		if err := writeMember(out, sep, m); err != nil {
			return err
		}
		sep = ",\n "
	}
	for _, l := range lists {
		if err := writeList(out, sep, l); err != nil {
			return err
		}
	}
	out.WriteString("\n}\n")
	return nil
}

func writeMember(out *bytes.Buffer, sep string, m member) error {
	value, err := json.Marshal(m.value)
	if err != nil {
		return err
	}
	out.WriteString(sep + `"` + m.name + `": `)
	out.Write(value)
	return nil
}

func writeList(out *bytes.Buffer, sep string, l list) error {
	out.WriteString(sep + `"` + l.name + `": [`)
	sep = "\n  "
	for _, r := range l.records {
		value, err := json.Marshal(r)
		if err != nil {
			return err
		}
		out.WriteString(sep)
		out.Write(value)
		sep = ",\n  "
	}
	out.WriteString("\n ]")
	return nil
}
