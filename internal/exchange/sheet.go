package exchange

import (
	"groundhand/internal/groundhand"
)

// Sheet is one table as read: the rows that could be read whole, and everything refused. A row with a refused cell is not among the
// rows. When a heading is refused there are no rows at all.
type Sheet struct {
	Name        string // as the caller called the file
	Tab         string // name of the sheet within a workbook; empty: the file has no sheets
	Kind        Kind
	Headings    []string   // as they stand in the file, in order
	Rows        int        // rows below the headings that hold anything
	Originals   []Original // all these rows to the letter, refused ones too, in the order of the table
	People      []Person
	Crews       []CrewPlace
	Drills      []Drill
	Assessments []Assessment
	Refusals    []Refusal // in the order of the table
	kept        int64     // bytes of text in Originals
}

// Refusal says why a cell, or a whole row, is not taken.
type Refusal struct {
	Row     int    // as the person's own program counts, headings being a row too
	Column  string // heading; empty when the whole row is meant
	Letter  string // letter of the column in a spreadsheet
	Cell    string // text of the cell as it stands there, cut to shownText bytes
	Code    groundhand.Code
	Message string // whole sentence: what is wrong and what to do
}

// Original is a row as it stands in the file. Of a date cell it has the day, of a formula the last result, of other cells the text to the
// letter; a text longer than the limit of a cell is cut there and ends in an ellipsis. Empty cells at the end are left out.
type Original struct {
	Row    int
	Number string // the staff number in it, where the cell can be taken
	Cells  []string
}

// Line is the place and identity of a row; every typed row has one.
type Line struct {
	Row    int
	Digest string // SHA-256 of the kind and the content read, hexadecimal: the same whatever the order of columns or the form of the file
	SameAs int    // earlier row with the same digest; 0: none
	head   *heading
	cells  []string
}

// Lines gives the lines of the rows that were read whole, of whatever kind.
func (s Sheet) Lines() []Line {
	var out []Line
	for _, r := range s.People {
		out = append(out, r.Line)
	}
	for _, r := range s.Crews {
		out = append(out, r.Line)
	}
	for _, r := range s.Drills {
		out = append(out, r.Line)
	}
	for _, r := range s.Assessments {
		out = append(out, r.Line)
	}
	return out
}

// Refuse makes a refusal at a cell of the line, for rules that the caller knows. Column may be empty: the whole row.
func (l Line) Refuse(code groundhand.Code, column, message string) Refusal {
	r := Refusal{Row: l.Row, Column: column, Code: code, Message: message}
	if i, ok := l.head.index(column); ok {
		r.Letter = letter(i)
		if i < len(l.cells) {
			r.Cell = l.cells[i]
		}
	}
	return r
}

// Person is a row of people.
type Person struct {
	Line
	Number   string // staff number
	Name     string
	Employer string
	Relation groundhand.Relation
	Grade    groundhand.Grade
	Year     int // of an apprentice; 0: none given
	Yard     groundhand.YardID
	FromOn   groundhand.Date
}

// CrewPlace is a row of crews: one person's place in a crew. Yard, kind and size describe the crew itself and may be left out when it is known.
type CrewPlace struct {
	Line
	Crew       groundhand.CrewID
	Yard       groundhand.YardID
	Kind       groundhand.CrewKind
	NormalSize int // people it goes out with; 0: not given
	Number     string
	Name       string // to be compared with the person's; empty: not given
	Part       groundhand.CrewPart
	Reason     groundhand.MembershipReason
	FromOn     groundhand.Date
	ToOn       groundhand.Date // last day; zero: until further notice
}

// Drill is a row of drills: one person's part in a run. Rows with the same date and run reference are parts of one run.
type Drill struct {
	Line
	On        groundhand.Date
	Number    string
	Name      string // to be compared with the person's; empty: not given
	Method    groundhand.Method
	Role      groundhand.Role
	Family    groundhand.FamilyID
	Device    groundhand.DeviceID
	Session   groundhand.SessionID
	Run       string // reference by which the rows of a run find each other; empty: a run of its own
	Complete  bool
	WatchedBy string // staff number; empty: nobody recorded
	Marks     groundhand.StageMarks
}

// Assessment is a row of assessments.
type Assessment struct {
	Line
	On         groundhand.Date
	Number     string
	Name       string // to be compared with the person's; empty: not given
	Method     groundhand.Method
	Role       groundhand.Role
	Family     groundhand.FamilyID
	Result     groundhand.AssessmentResult
	Assessor   string // staff number
	FailedStep string // the critical step that was failed; empty: none
}
