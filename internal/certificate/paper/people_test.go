package paper_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
)

func somePeople() paper.People {
	day := groundhand.MustDate
	pair := "Bucket rescue, two on the ground, block-and-tackle kit"
	return paper.People{
		Employer: "Halverra Lines (invented)", Rules: "R-C, Dunmarrow Ports: a year without extensions", On: day("2025-01-14"), AsKnownOn: day("2025-01-13"),
		Cautions: []string{"It is no licence.", "Local rules, the makers' instructions and licensed practice come first."},
		Persons: []paper.Person{
			{Name: "Katya Lormier", Good: true, Lines: []paper.PersonLine{
				{Method: pair, Role: "second rescuer", Family: "F1, articulating, lever", Good: true, LastGoodDay: day("2025-06-11"), Certificate: "2024-0017", State: "valid"},
				{Method: "First aid and CPR", Good: true, LastGoodDay: day("2025-09-01"), Note: "no certificate issued"}}},
			{Name: "Uche Ravenhall", Lines: []paper.PersonLine{{Method: pair, Role: "second rescuer", Family: "F1, articulating, lever", Note: "last good day was Sat 11 Jan 2025"}}},
			{Name: "Jun Takamori-Pell", Note: "no practice on record under these rules"},
		},
	}
}

// manyPeople fills pages, with lines enough that one person is broken over two.
func manyPeople(n int) paper.People {
	l := somePeople()
	l.Persons = nil
	for i := range n {
		one := paper.Person{Name: fmt.Sprintf("Person Number-%03d", i), Good: true}
		for j := range 1 + i%7 {
			one.Lines = append(one.Lines, paper.PersonLine{Method: fmt.Sprintf("Method %03d-%d", i, j), Role: "lead rescuer", Good: true, LastGoodDay: groundhand.MustDate("2025-06-11"),
				Certificate: fmt.Sprintf("2025-%03d%d", i, j), State: "valid"})
		}
		l.Persons = append(l.Persons, one)
	}
	return l
}

func drawn(t *testing.T, l paper.People) []byte {
	t.Helper()
	var pdf bytes.Buffer
	require.NoError(t, paper.WritePeople(&pdf, l))
	return pdf.Bytes()
}

func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }

func TestTheListOfPeopleStatesEveryFact(t *testing.T) {
	text := oneLine(run(t, drawn(t, somePeople()), "pdftotext", "-layout", "-", "-"))
	for _, fact := range []string{
		"Halverra Lines (invented) Rescue practice of named people", "Under the rules R-C, Dunmarrow Ports: a year without extensions", "On Tue 14 Jan 2025", "As known on Mon 13 Jan 2025",
		"Katya Lormier good Bucket rescue, two on the ground, block-and-tackle kit; second rescuer; F1, articulating, lever",
		"Good through 24:00 local time on Wed 11 Jun 2025; certificate 2024-0017, valid", "First aid and CPR Good through 24:00 local time on Mon 1 Sep 2025; no certificate issued",
		"Uche Ravenhall not good", "Not good; last good day was Sat 11 Jan 2025", "Jun Takamori-Pell not good no practice on record under these rules",
		"It is no licence.", "Local rules, the makers' instructions and licensed practice come first.", "page 1 of 1",
	} {
		assert.Contains(t, text, fact)
	}
}

// Everything of everybody is on some page, once; cautions and the day are on every page; nothing leaves its page or lies over another text.
func TestALongListOfPeopleGoesOverPages(t *testing.T) {
	l := manyPeople(120)
	pdf := drawn(t, l)
	text := run(t, pdf, "pdftotext", "-layout", "-", "-")
	pages := strings.Split(strings.TrimSuffix(text, "\f"), "\f")
	require.Greater(t, len(pages), 8)
	for i, page := range pages {
		said := oneLine(page)
		assert.Contains(t, said, "licensed practice come first.")
		assert.Contains(t, said, "It is no licence.")
		assert.Contains(t, said, "As known on Mon 13 Jan 2025")
		assert.Contains(t, said, fmt.Sprintf("page %d of %d", i+1, len(pages)))
	}
	all, continued := oneLine(text), 0
	for _, one := range l.Persons {
		again := strings.Count(all, one.Name+", continued")
		continued += again
		assert.Equal(t, 1+again, strings.Count(all, one.Name))
		for _, x := range one.Lines {
			assert.Equal(t, 1, strings.Count(all, x.Method+"; "+x.Role))
			assert.Equal(t, 1, strings.Count(all, "certificate "+x.Certificate+", valid"))
		}
	}
	assert.Positive(t, continued, "somebody is broken over two pages")
	boxes := regexp.MustCompile(`<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)"`).FindAllStringSubmatch(run(t, pdf, "pdftotext", "-bbox", "-", "-"), -1)
	require.NotEmpty(t, boxes)
	for _, b := range boxes {
		var x0, y0, x1, y1 float64
		_, err := fmt.Sscan(strings.Join(b[1:], " "), &x0, &y0, &x1, &y1)
		require.NoError(t, err)
		assert.True(t, x0 >= 55 && x1 <= 540 && y0 >= 30 && y1 <= 830, b[0])
	}
	assert.Equal(t, pdf, drawn(t, l), "the same list gives the same bytes")
}

func TestNoTextOfTheListLiesOverAnother(t *testing.T) {
	type box struct{ x0, y0, x1, y1 float64 }
	for _, page := range strings.Split(run(t, drawn(t, manyPeople(40)), "pdftotext", "-bbox-layout", "-", "-"), "<page ")[1:] {
		var lines []box
		for _, m := range regexp.MustCompile(`<line xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)"`).FindAllStringSubmatch(page, -1) {
			var b box
			_, err := fmt.Sscan(strings.Join(m[1:], " "), &b.x0, &b.y0, &b.x1, &b.y1)
			require.NoError(t, err)
			for _, o := range lines {
				overlap := min(b.y1, o.y1) - max(b.y0, o.y0)
				if b.x0 < o.x1 && o.x0 < b.x1 {
					assert.Less(t, overlap, 0.35*min(b.y1-b.y0, o.y1-o.y0), "%v %v", b, o)
				}
			}
			lines = append(lines, b)
		}
		assert.NotEmpty(t, lines)
	}
}

func TestTheListOfPeopleIsBlackOnWhite(t *testing.T) {
	ppm := run(t, drawn(t, somePeople()), "pdftoppm", "-r", "60", "-")
	var magic string
	var w, h, depth int
	_, err := fmt.Sscan(ppm, &magic, &w, &h, &depth)
	require.NoError(t, err)
	pixels := []byte(ppm)[len(ppm)-3*w*h:]
	dark := 0
	for i := 0; i < len(pixels); i += 3 {
		require.True(t, pixels[i] == pixels[i+1] && pixels[i] == pixels[i+2], "a coloured point")
		if pixels[i] < 128 {
			dark++
		}
	}
	assert.Less(t, dark*8, w*h, "the paper stays white")
}

func TestTheListForSpreadsheets(t *testing.T) {
	l := somePeople()
	l.Persons[1].Name = "=HYPERLINK(\"x\")"
	text, err := paper.PeopleCSV(l)
	require.NoError(t, err)
	require.True(t, bytes.HasPrefix(text, []byte("\ufeff")))
	assert.Equal(t, 5, bytes.Count(text, []byte("\r\n")))
	rows, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\ufeff")))).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 5)
	assert.Equal(t, []string{"Katya Lormier", "good", "Bucket rescue, two on the ground, block-and-tackle kit", "second rescuer", "F1, articulating, lever", "good", "2025-06-11", "2024-0017", "valid", "",
		"R-C, Dunmarrow Ports: a year without extensions", "2025-01-14", "2025-01-13"}, rows[1])
	assert.Equal(t, `'=HYPERLINK("x")`, rows[3][0], "no cell is run")
	assert.Equal(t, []string{"not good", "", "", "", "not good", "", "", "", "no practice on record under these rules"}, rows[4][1:10])
}

func TestAllThatIsWrongWithAListIsToldAtOnce(t *testing.T) {
	l := somePeople()
	l.Employer, l.On = "", 0
	l.Persons[0].Name = "李娜"
	l.Persons[0].Lines[0].State = ""
	l.Persons[1].Good, l.Persons[1].Lines[0].Note = true, ""
	l.Persons[2].Note = ""
	want := []string{"employer", "on", "people[0].name", "people[0].lines[0].state", "people[1].good", "people[1].lines[0].note", "people[2].note"}
	var out bytes.Buffer
	for _, err := range []error{paper.CheckPeople(l), paper.WritePeople(&out, l), func() error { _, err := paper.PeopleCSV(l); return err }()} {
		fields := []string{}
		for _, e := range groundhand.Refusals(err) {
			fields = append(fields, e.Field)
		}
		assert.Equal(t, want, fields)
	}
	assert.Zero(t, out.Len(), "nothing was written")
	l = somePeople()
	l.Persons[1].Lines[0].LastGoodDay = groundhand.MustDate("2025-09-01")
	err := paper.CheckPeople(l)
	require.Len(t, groundhand.Refusals(err), 1)
	assert.Equal(t, "people[1].lines[0].lastGoodDay", groundhand.Refusals(err)[0].Field, "a last good day to come beside \"not good\" would tell of a suspension")
	l.Persons = make([]paper.Person, paper.MaxPeople+1)
	assert.Error(t, paper.CheckPeople(l))
	l.Persons = nil
	assert.Error(t, paper.CheckPeople(l))
}

// A name as long as may be is set smaller and on more lines, and one that is longer is refused by its path.
func TestLongNamesOnTheList(t *testing.T) {
	l := somePeople()
	l.Persons[1].Name = strings.TrimSpace(strings.Repeat("Wilhelmina ", 12))
	assert.Contains(t, oneLine(run(t, drawn(t, l), "pdftotext", "-layout", "-", "-")), "Wilhelmina Wilhelmina")
	l.Persons[1].Name = strings.TrimSpace(strings.Repeat("Wilhelmina ", 27))
	var out bytes.Buffer
	err := paper.WritePeople(&out, l)
	require.Len(t, groundhand.Refusals(err), 1)
	assert.Equal(t, "people[1].name", groundhand.Refusals(err)[0].Field)
	assert.Zero(t, out.Len())
}

// In a folder the certificates are an export of their own: the list beside it is not a file that somebody put in.
func TestABundleInAFolder(t *testing.T) {
	b := paper.Bundle{Day: groundhand.MustDate("2025-01-13"), Readme: "how to check", Document: []byte("{}"), Folder: "export/",
		Extra: []paper.File{{Name: "README.txt", Data: []byte("what it is")}, {Name: "manifest.csv", Data: []byte("a")}, {Name: "certificates/a.csv", Data: []byte("b")}}}
	var raw bytes.Buffer
	require.NoError(t, paper.Zip(&raw, b, nil))
	archive, err := zip.NewReader(bytes.NewReader(raw.Bytes()), int64(raw.Len()))
	require.NoError(t, err)
	names := []string{}
	for _, f := range archive.File {
		names = append(names, f.Name)
	}
	assert.Equal(t, []string{"export/README.txt", "export/issuer/did.json", "README.txt", "certificates/a.csv", "manifest.csv", "export/manifest.csv"}, names)
	for _, folder := range []string{"export", "../", "/", "a b/"} {
		b.Folder = folder
		raw.Reset()
		assert.Error(t, paper.Zip(&raw, b, nil), folder)
		assert.Zero(t, raw.Len())
	}
	b.Folder = "export/"
	for _, name := range []string{"export/x.csv", "Export/README.txt", "export", "a.csv", "A.csv"} {
		b.Extra = []paper.File{{Name: "a.csv"}, {Name: name}}
		assert.Error(t, paper.Zip(&raw, b, nil), name)
	}
}
