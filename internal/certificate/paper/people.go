package paper

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"slices"

	"groundhand/internal/groundhand"
)

// MaxPeople is the most people that one list takes.
const MaxPeople = 500

// maxPersonLines is the most lines of one person.
const maxPersonLines = 100

// People is a list for a client: named people, good or not under one rule set on a day. What stands in it leaves the house, so whoever fills
// it gives a reason only in words that tell nothing of health, absence or suspension.
type People struct {
	Employer  string          // who gives it out
	Rules     string          // the rule set, as "R-C, Dunmarrow Ports: a year without extensions"
	On        groundhand.Date // the day asked about
	AsKnownOn groundhand.Date // the day on which it was made; also the date inside the PDF
	Persons   []Person        // as they are shown
	Cautions  []string        // on every page
}

// Person is one person of the list.
type Person struct {
	Name  string
	Good  bool // in all lines
	Lines []PersonLine
	Note  string // what is said of who has no line; empty otherwise
}

// PersonLine is one thing that the rules ask.
type PersonLine struct {
	Method      string
	Role        string // empty: the method has no roles
	Family      string // empty: it does not go by control family
	Good        bool
	LastGoodDay groundhand.Date // of who is good; zero: not told
	Certificate string          // number; empty: none
	State       string          // of the certificate, in words; empty where there is none
	Note        string          // the reason of who is not good, or why there is no certificate; empty: nothing to say
}

// Words of the verdict, the same on paper and in the list for spreadsheets.
const (
	goodWords    = "good"
	notGoodWords = "not good"
)

func goodness(good bool) string {
	if good {
		return goodWords
	}
	return notGoodWords
}

// what a line asks, in one text.
func (l PersonLine) what() string {
	text := l.Method
	for _, more := range []string{l.Role, l.Family} {
		if more != "" {
			text += "; " + more
		}
	}
	return text
}

// says is what a line says, in one text.
func (l PersonLine) says() string {
	text := "Not good"
	if l.Good {
		text = "Good through 24:00 local time on " + l.LastGoodDay.Words()
	}
	if l.Certificate != "" {
		text += "; certificate " + l.Certificate + ", " + l.State
	}
	if l.Note != "" {
		text += "; " + l.Note
	}
	return text
}

// CheckPeople says whether a list can be printed whole. All problems come at once as groundhand.Errors, each with the field's path
// ("people[3].name").
func CheckPeople(l People) error {
	var p groundhand.Problems
	checkText(&p, "employer", l.Employer, maxText)
	checkText(&p, "rules", l.Rules, maxText)
	if l.On.IsZero() || l.AsKnownOn.IsZero() {
		p.Add(groundhand.CodeInvalid, "on", "The day asked about and the day of the list must be given.")
	}
	if len(l.Persons) == 0 || len(l.Persons) > MaxPeople {
		p.Add(groundhand.CodeInvalid, "people", "A list names 1 to %d people; these are %d.", MaxPeople, len(l.Persons))
		return p.Err()
	}
	if len(l.Cautions) == 0 || len(l.Cautions) > maxCautions {
		p.Add(groundhand.CodeInvalid, "cautions", "A list carries 1 to %d cautions; these are %d.", maxCautions, len(l.Cautions))
		return p.Err()
	}
	for i, caution := range l.Cautions {
		checkText(&p, fmt.Sprintf("cautions[%d]", i), caution, maxCaution)
	}
	for i, one := range l.Persons {
		checkPerson(&p, fmt.Sprintf("people[%d]", i), one)
	}
	return p.Err()
}

func checkPerson(p *groundhand.Problems, path string, one Person) {
	checkText(p, path+".name", one.Name, maxText)
	switch {
	case len(one.Lines) > maxPersonLines:
		p.Add(groundhand.CodeInvalid, path+".lines", "A person has at most %d lines; these are %d.", maxPersonLines, len(one.Lines))
		return
	case len(one.Lines) == 0:
		checkText(p, path+".note", one.Note, maxText)
	}
	if one.Good != (len(one.Lines) > 0 && !slices.ContainsFunc(one.Lines, func(l PersonLine) bool { return !l.Good })) {
		p.Add(groundhand.CodeInvalid, path+".good", "A person is good when there are lines and all of them are, and not otherwise.")
	}
	for i, l := range one.Lines {
		at := fmt.Sprintf("%s.lines[%d]", path, i)
		checkText(p, at, l.what(), maxText)
		checkText(p, at, l.says(), maxText)
		switch {
		case l.Good == l.LastGoodDay.IsZero():
			p.Add(groundhand.CodeInvalid, at+".lastGoodDay", "Who is good has a last good day, and nobody else.")
		case !l.Good && l.Note == "":
			p.Add(groundhand.CodeInvalid, at+".note", "Say why, in words that may leave the house.")
		case (l.Certificate == "") != (l.State == ""):
			p.Add(groundhand.CodeInvalid, at+".state", "A certificate has a state, and what there is not has none.")
		}
	}
}

var peopleHead = []string{
	"name", "good", "method", "role", "control_family", "good_for_this", "last_good_day", "certificate_no", "certificate_state", "note", "rule_set", "on", "as_known_on",
}

// PeopleCSV writes the list for spreadsheets, a row for each line of each person: UTF-8 with its mark, RFC 4180 lines, no cell that a
// spreadsheet would run.
func PeopleCSV(l People) ([]byte, error) {
	if err := CheckPeople(l); err != nil {
		return nil, err
	}
	rows := [][]string{peopleHead}
	for _, one := range l.Persons {
		lines := one.Lines
		if len(lines) == 0 {
			lines = []PersonLine{{Note: one.Note}}
		}
		for _, x := range lines {
			rows = append(rows, []string{one.Name, goodness(one.Good), x.Method, x.Role, x.Family, goodness(x.Good), x.LastGoodDay.String(), x.Certificate, x.State, x.Note,
				l.Rules, l.On.String(), l.AsKnownOn.String()})
		}
	}
	for _, row := range rows {
		for i, cell := range row {
			row[i] = guard(cell)
		}
	}
	var b bytes.Buffer
	b.WriteString("\ufeff")
	list := csv.NewWriter(&b)
	list.UseCRLF = true
	if err := list.WriteAll(rows); err != nil {
		return nil, fmt.Errorf("write the list of people: %w", err)
	}
	return b.Bytes(), nil
}

// WritePeople draws the list as a PDF of as many A4 pages as it needs, black on white, the cautions and the day of the list on every page.
// It is checked first, as CheckPeople does, and nothing is written if it is refused. The same list gives the same bytes.
func WritePeople(w io.Writer, l People) error {
	if err := CheckPeople(l); err != nil {
		return err
	}
	pages, err := composePeople(l)
	if err != nil {
		return err
	}
	file, err := pdfOf(pages, about{title: peopleTitle, author: l.Employer, day: l.AsKnownOn})
	if err == nil {
		_, err = w.Write(file)
	}
	if err != nil {
		return fmt.Errorf("write the list of people: %w", err)
	}
	return nil
}
