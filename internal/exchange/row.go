package exchange

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"groundhand/internal/groundhand"
)

// shownText is how many bytes of a refused cell are repeated to the person.
const shownText = 200

// keptPerByte bounds the text that is kept of a file by the size a file may have: a workbook is packed and repeats its texts by number.
const keptPerByte = 4

func (s *Sheet) readRows(src source, head *heading, limit Limit) error {
	seen := map[string]int{}
	for {
		rec, err := nextFilled(src)
		if ended(err) {
			return nil
		}
		if err != nil {
			return err
		}
		if s.Rows++; s.Rows > limit.Rows {
			return tooLarge("The table has more than %d rows. Split it.", limit.Rows)
		}
		t := &taker{kind: s.Kind, head: head, rec: rec, cellLimit: limit.Cell, seen: seen}
		if err := s.keep(rec, t.staffNumber(), limit); err != nil {
			return err
		}
		t.read(s)
		s.Refusals = append(s.Refusals, t.refused...)
		if len(s.Refusals) > limit.Refusals {
			return tooLarge("More than %d cells are refused, up to row %d. Is this the right file? The first reason: %s", limit.Refusals, rec.row, s.Refusals[0].Message)
		}
	}
}

// keep notes a row to the letter.
func (s *Sheet) keep(rec record, number string, limit Limit) error {
	o := Original{Row: rec.row, Number: number}
	for _, c := range rec.cells {
		text := cutTo(c.raw, limit.Cell)
		o.Cells = append(o.Cells, text)
		s.kept += int64(len(text))
	}
	for len(o.Cells) > 0 && o.Cells[len(o.Cells)-1] == "" {
		o.Cells = o.Cells[:len(o.Cells)-1]
	}
	s.Originals = append(s.Originals, o)
	if s.kept > keptPerByte*limit.Bytes {
		return tooLarge("The table holds more than %d bytes of text. Split it.", keptPerByte*limit.Bytes)
	}
	return nil
}

func nextFilled(src source) (record, error) {
	for {
		rec, err := src.next()
		if err != nil || !rec.blank() {
			return rec, err
		}
	}
}

// A taker takes the typed fields of one row, in a fixed order, so that the digest does not depend on the order of columns.
type taker struct {
	kind      Kind
	head      *heading
	rec       record
	cellLimit int
	seen      map[string]int // digest -> first row with it
	refused   []Refusal
	content   strings.Builder
}

func (t *taker) read(s *Sheet) {
	if !t.underHeadings() {
		return
	}
	switch t.kind {
	case People:
		takeInto(t, &s.People, t.person(), func(p *Person) *Line { return &p.Line })
	case Crews:
		takeInto(t, &s.Crews, t.crewPlace(), func(p *CrewPlace) *Line { return &p.Line })
	case Drills:
		takeInto(t, &s.Drills, t.drill(), func(p *Drill) *Line { return &p.Line })
	case Assessments:
		takeInto(t, &s.Assessments, t.assessment(), func(p *Assessment) *Line { return &p.Line })
	}
}

// takeInto keeps a row of which no cell was refused.
func takeInto[T any](t *taker, into *[]T, row T, line func(*T) *Line) {
	if len(t.refused) > 0 {
		return
	}
	*line(&row) = t.line()
	*into = append(*into, row)
}

func (t *taker) line() Line {
	sum := sha256.Sum256([]byte(string(t.kind) + "\x1e" + t.content.String()))
	l := Line{Row: t.rec.row, Digest: hex.EncodeToString(sum[:]), head: t.head}
	if first, again := t.seen[l.Digest]; again {
		l.SameAs = first
	} else {
		t.seen[l.Digest] = l.Row
	}
	for _, c := range t.rec.cells {
		l.cells = append(l.cells, c.text)
	}
	return l
}

// underHeadings refuses a row with content under no heading: its cells have slipped, or a heading is missing.
func (t *taker) underHeadings() bool {
	for i, c := range t.rec.cells {
		if c.text == "" && c.fault == "" || t.head.names[i] != "" || t.head.out[i] && !c.short {
			continue
		}
		why := c.fault
		if why == "" {
			why = fmt.Sprintf("Column %s has no heading. Give it one, or move the text to where it belongs.", letter(i))
		}
		t.refused = append(t.refused, Refusal{t.rec.row, "", letter(i), shown(c.text), groundhand.CodeInvalid, why})
	}
	return len(t.refused) == 0
}

func (t *taker) person() Person {
	return Person{
		Number:   t.text("number"),
		Name:     t.text("name"),
		Employer: t.text("employer"),
		Relation: choice(t, "relation", groundhand.Employee, groundhand.ResidentContractor, groundhand.Visitor),
		Grade:    choice(t, "grade", groundhand.Qualified, groundhand.Apprentice, groundhand.Ground, groundhand.Office),
		Year:     t.number("year", 1, 6),
		Yard:     groundhand.YardID(t.text("yard")),
		FromOn:   t.day("from"),
	}
}

func (t *taker) crewPlace() CrewPlace {
	p := CrewPlace{
		Crew:       groundhand.CrewID(t.text("crew")),
		Yard:       groundhand.YardID(t.text("yard")),
		Kind:       choice(t, "kind", groundhand.LineCrew, groundhand.FaultCrew, groundhand.SubstationCrew, groundhand.ReliefPool),
		NormalSize: t.number("normal size", 1, 99),
		Number:     t.text("number"),
		Name:       t.text("name"),
		Part:       choice(t, "part", groundhand.Foreman, groundhand.Member),
		Reason:     choice(t, "reason", groundhand.Permanent, groundhand.Loan, groundhand.Split, groundhand.Storm),
		FromOn:     t.day("from"),
		ToOn:       t.day("to"),
	}
	if !p.ToOn.IsZero() && p.ToOn < p.FromOn {
		t.refuse("to", "The last day is before the first, %s.", p.FromOn)
	}
	return p
}

func (t *taker) drill() Drill {
	return Drill{
		On:        t.day("date"),
		Number:    t.text("number"),
		Name:      t.text("name"),
		Method:    choice(t, "method", groundhand.Methods...),
		Role:      choice(t, "role", groundhand.Roles...),
		Family:    groundhand.FamilyID(t.text("family")),
		Device:    groundhand.DeviceID(t.text("device")),
		Session:   groundhand.SessionID(t.text("session")),
		Run:       t.text("run"),
		Complete:  t.yes("complete"),
		WatchedBy: t.text("watched by"),
		Marks:     t.marks(),
	}
}

func (t *taker) assessment() Assessment {
	return Assessment{
		On:         t.day("date"),
		Number:     t.text("number"),
		Name:       t.text("name"),
		Method:     choice(t, "method", groundhand.Methods...),
		Role:       choice(t, "role", groundhand.Lead, groundhand.Second, groundhand.Lone),
		Family:     groundhand.FamilyID(t.text("family")),
		Result:     choice(t, "result", groundhand.Pass, groundhand.Fail, groundhand.NotCompleted),
		Assessor:   t.text("assessor"),
		FailedStep: t.text("failed step"),
	}
}

// cell gives the cell under a heading; empty when it holds nothing or was refused here.
func (t *taker) cell(column string) cell {
	i, ok := t.head.index(column)
	if !ok {
		return cell{}
	}
	var c cell
	if i < len(t.rec.cells) {
		c = t.rec.cells[i]
	}
	if why := t.cannotTake(column, c); why != "" {
		t.refuse(column, "%s", why)
		return cell{}
	}
	return c
}

func (t *taker) cannotTake(column string, c cell) string {
	switch {
	case c.fault != "":
		return c.fault
	case c.text == "" && t.needed(column):
		return "This cell must not be empty."
	case len(c.text) > t.cellLimit:
		return fmt.Sprintf("The text is %d bytes long; at most %d are taken.", len(c.text), t.cellLimit)
	case strings.HasPrefix(c.text, "="):
		return "This looks like a formula. Formulas are not run; write the value."
	case strings.ContainsFunc(c.text, unseen):
		return "The cell holds a line break or another character that cannot be seen. Type the text anew, in one line."
	}
	return ""
}

// unseen are control characters and those that turn the direction of writing, with which a text shows otherwise than it is stored.
func unseen(r rune) bool {
	return unicode.IsControl(r) || r == utf8.RuneError || r >= 0x202A && r <= 0x202E || r >= 0x2066 && r <= 0x2069
}

func (t *taker) needed(column string) bool {
	for _, c := range columns[t.kind] {
		if c.Name == column {
			return c.Needed
		}
	}
	return false
}

func (t *taker) refuse(column, format string, args ...any) {
	i, _ := t.head.index(column)
	text := ""
	if i < len(t.rec.cells) {
		text = shown(t.rec.cells[i].text)
	}
	t.refused = append(t.refused, Refusal{t.rec.row, column, letter(i), text, groundhand.CodeInvalid, fmt.Sprintf(format, args...)})
}

// keep adds a field to the content that the digest is made of.
func (t *taker) keep(column, canonical string) {
	t.content.WriteString(column + "\x1f" + canonical + "\x1e")
}

// staffNumber reads whose row it is without refusing anything.
func (t *taker) staffNumber() string {
	i, ok := t.head.index("number")
	if !ok || i >= len(t.rec.cells) || t.rec.cells[i].day || t.cannotTake("number", t.rec.cells[i]) != "" {
		return ""
	}
	return plainText(t.rec.cells[i].text)
}

// plainText has single spaces and composed characters, so that what looks the same is the same.
func plainText(s string) string { return norm.NFC.String(strings.Join(strings.Fields(s), " ")) }

func (t *taker) text(column string) string {
	c := t.cell(column)
	if c.text == "" {
		return ""
	}
	if c.day {
		t.refuse(column, "The spreadsheet program has made a date of this. Format the cell as text and type it anew.")
		return ""
	}
	words := plainText(c.text)
	t.keep(column, words)
	return words
}

// day takes YYYY-MM-DD or a real date cell, and the writing that a person has stated for this column, never one found out here. Every other writing is refused, even one that could only be read in one way: a reader who
// learns that 25/12/2024 is taken will trust it with 03/04/2024 too.
func (t *taker) day(column string) groundhand.Date {
	c := t.cell(column)
	switch {
	case c.text == "":
		return 0
	case c.formula:
		t.refuse(column, "The day comes from a formula and may change by itself. Write the day.")
		return 0
	}
	d, err := groundhand.ParseDate(c.text)
	if order, said := t.head.orders[column]; err != nil && said {
		if d, err = order.read(c.text); err != nil {
			t.refuse(column, "This is no day written as %s. Write year-month-day, like 2024-04-03, or make it a date cell.", order.Name)
			return 0
		}
	}
	if err != nil {
		t.refuse(column, "This is no day that can be read in only one way. Write year-month-day, like 2024-04-03, or make it a date cell.")
		return 0
	}
	t.keep(column, d.String())
	return d
}

// number takes a whole number from least to most; 0 when the cell is empty.
func (t *taker) number(column string, least, most int) int {
	c := t.cell(column)
	if c.text == "" {
		return 0
	}
	n, err := strconv.Atoi(c.text)
	if err != nil || n < least || n > most || c.day {
		t.refuse(column, "Write a whole number from %d to %d.", least, most)
		return 0
	}
	t.keep(column, strconv.Itoa(n))
	return n
}

func (t *taker) yes(column string) bool {
	c := t.cell(column)
	switch fold(c.text) {
	case "YES", "TRUE":
		t.keep(column, "yes")
		return true
	case "NO", "FALSE":
		t.keep(column, "no")
	case "":
	default:
		t.refuse(column, "Write yes or no in full.")
	}
	return false
}

// choice takes one of the words of the vocabulary, written in any capitals and with spaces, hyphens or underscores.
func choice[T ~string](t *taker, column string, words ...T) T {
	c := t.cell(column)
	if c.text == "" {
		return ""
	}
	for _, w := range words {
		if string(w) == fold(c.text) {
			t.keep(column, string(w))
			return w
		}
	}
	t.refuse(column, "Write one of: %s.", plain(words))
	return ""
}

func plain[T ~string](words []T) string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = strings.ToLower(strings.ReplaceAll(string(w), "_", " "))
	}
	return strings.Join(out, ", ")
}

// marks takes the stage marks that are given and refuses those that the vocabulary refuses, each at its own cell.
func (t *taker) marks() groundhand.StageMarks {
	var marks groundhand.StageMarks
	for s := groundhand.S0; s <= groundhand.S10; s++ {
		if n, ok := t.seconds(stageColumn(s)); ok {
			marks = append(marks, groundhand.StageMark{Stage: s, Seconds: n})
		}
	}
	for _, e := range groundhand.Refusals(marks.Check("")) {
		var i int
		if _, err := fmt.Sscanf(e.Field, "[%d]", &i); err == nil && i < len(marks) {
			t.refuse(stageColumn(marks[i].Stage), "%s", e.Message)
		}
	}
	return marks
}

func (t *taker) seconds(column string) (int, bool) {
	c := t.cell(column)
	if c.text == "" {
		return 0, false
	}
	n, err := strconv.Atoi(c.text)
	if err != nil || c.day {
		t.refuse(column, "Write whole seconds after the alarm, like 95.")
		return 0, false
	}
	t.keep(column, strconv.Itoa(n))
	return n, true
}

// shown cuts a text to what is repeated to a person.
func shown(s string) string { return cutTo(s, shownText) }

// cutTo cuts a text to so many bytes, at a whole character.
func cutTo(s string, most int) string {
	if len(s) <= most {
		return s
	}
	cut := most
	for cut > 0 && !utf8.RuneStart(s[cut]) {
		cut--
	}
	return s[:cut] + "…"
}
