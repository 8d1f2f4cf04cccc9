package paper

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"fmt"
	"strings"
	"sync"
	"unicode/utf16"

	"groundhand/internal/groundhand"
)

// about is what a PDF says of itself, and the file that it carries.
type about struct {
	title    string
	author   string
	day      groundhand.Date // of making, as far as anybody is told
	attached *File           // nil: none; its name is of plain letters
}

// pdfOf writes pages as a PDF (ISO 32000-1) with all its letters inside. There is no clock and no chance in it: the same pages give the same
// bytes.
func pdfOf(pages []*page, a about) []byte {
	f := &pdf{offsets: make([]int, 3)} // the first three objects are written last
	f.out.WriteString("%PDF-1.7\n%\xE2\xE3\xCF\xD3\n")
	var fonts strings.Builder
	for i, rows := range rowsOf(pages) {
		fmt.Fprintf(&fonts, "/F%d %d 0 R ", i, f.font(face(i), rows))
	}
	var kids strings.Builder
	for _, p := range pages {
		fmt.Fprintf(&kids, "%d 0 R ", f.page(p, fonts.String()))
	}
	names := ""
	if a.attached != nil {
		names = fmt.Sprintf(" /Names << /EmbeddedFiles << /Names [%s %d 0 R] >> >>", quoted(a.attached.Name), f.attachment(*a.attached, a.day))
	}
	f.put(1, fmt.Sprintf("<< /Type /Catalog /Pages 2 0 R /Lang (en) /ViewerPreferences << /DisplayDocTitle true >>%s >>", names))
	f.put(2, fmt.Sprintf("<< /Type /Pages /Count %d /Kids [%s] >>", len(pages), strings.TrimSpace(kids.String())))
	f.put(3, fmt.Sprintf("<< /Title %s /Author %s /Producer (groundhand) /CreationDate %s /ModDate %[3]s >>", text(a.title), text(a.author), moment(a.day)))
	return f.close()
}

// pdf is a file being written: objects one after the other, and where each begins.
type pdf struct {
	out     bytes.Buffer
	offsets []int // of object 1, 2, …
}

// put writes an object that has its number already.
func (f *pdf) put(number int, content string) {
	f.offsets[number-1] = f.out.Len()
	fmt.Fprintf(&f.out, "%d 0 obj\n%s\nendobj\n", number, content)
}

// object writes one and gives its number.
func (f *pdf) object(content string) int {
	f.offsets = append(f.offsets, 0)
	f.put(len(f.offsets), content)
	return len(f.offsets)
}

// stream writes a packed stream; keys go into its dictionary.
func (f *pdf) stream(keys string, data []byte) int {
	return f.packedStream(keys, deflated(data))
}

func (f *pdf) packedStream(keys string, packed []byte) int {
	f.offsets = append(f.offsets, f.out.Len())
	fmt.Fprintf(&f.out, "%d 0 obj\n<< %s /Filter /FlateDecode /Length %d >>\nstream\n", len(f.offsets), keys, len(packed))
	f.out.Write(packed)
	f.out.WriteString("\nendstream\nendobj\n")
	return len(f.offsets)
}

// packers are used again and again: each has a memory of its own that is larger than a page.
var packers = sync.Pool{New: func() any { return zlib.NewWriter(nil) }}

func deflated(data []byte) []byte {
	var b bytes.Buffer
	z := packers.Get().(*zlib.Writer)
	defer packers.Put(z)
	z.Reset(&b)
	_, _ = z.Write(data) // a buffer takes everything
	_ = z.Close()
	return b.Bytes()
}

// font writes a face with some rows of letters (ISO 32000-1, 9.7) and gives the number of the font.
func (f *pdf) font(of face, rows rowSet) int {
	c := cutOf(of, rows)
	name := faces[of].name
	file := f.packedStream(fmt.Sprintf("/Length1 %d", c.length), c.file)
	glyphs := f.packedStream("", c.glyphs)
	letters := f.packedStream("", c.toUnicode)
	look := f.object(fmt.Sprintf("<< /Type /FontDescriptor /FontName /%s /Flags 4 %s /FontFile2 %d 0 R >>", name, faces[of].measures, file))
	cid := f.object(fmt.Sprintf("<< /Type /Font /Subtype /CIDFontType2 /BaseFont /%s /CIDSystemInfo << /Registry (Adobe) /Ordering (Identity) /Supplement 0 >> "+
		"/FontDescriptor %d 0 R /DW 0 /W [%s] /CIDToGIDMap %d 0 R >>", name, look, c.widths, glyphs))
	return f.object(fmt.Sprintf("<< /Type /Font /Subtype /Type0 /BaseFont /%s /Encoding /Identity-H /DescendantFonts [%d 0 R] /ToUnicode %d 0 R >>",
		name, cid, letters))
}

// page writes a page with what is drawn on it and gives its number.
func (f *pdf) page(p *page, fonts string) int {
	content := f.stream("", drawing(p))
	links := ""
	if p.code != "" {
		links = fmt.Sprintf(" /Annots [<< /Type /Annot /Subtype /Link /Border [0 0 0] /Rect [%s %s %s %s] /A << /S /URI /URI %s >> >>]",
			points(p.codeX), points(pageHeight-p.codeY-codeSide), points(p.codeX+codeSide), points(pageHeight-p.codeY), quoted(p.code))
	}
	return f.object(fmt.Sprintf("<< /Type /Page /Parent 2 0 R /MediaBox [0 0 %s %s] /Resources << /Font << %s>> >> /Contents %d 0 R%s >>",
		points(pageWidth), points(pageHeight), fonts, content, links))
}

// attachment writes a file and gives the number of its entry (ISO 32000-1, 7.11.4).
func (f *pdf) attachment(file File, day groundhand.Date) int {
	content := f.stream(fmt.Sprintf("/Type /EmbeddedFile /Subtype /application#2Fjson /Params << /Size %d /ModDate %s >>", len(file.Data), moment(day)), file.Data)
	return f.object(fmt.Sprintf("<< /Type /Filespec /F %s /UF %[1]s /EF << /F %d 0 R /UF %[2]d 0 R >> /Desc (The signed certificate) >>",
		quoted(file.Name), content))
}

// close writes the table of objects. The file's own id is a digest of all that stands before it.
func (f *pdf) close() []byte {
	id := sha256.Sum256(f.out.Bytes())
	start := f.out.Len()
	fmt.Fprintf(&f.out, "xref\n0 %d\n0000000000 65535 f \n", len(f.offsets)+1)
	for _, at := range f.offsets {
		fmt.Fprintf(&f.out, "%010d 00000 n \n", at)
	}
	fmt.Fprintf(&f.out, "trailer\n<< /Size %d /Root 1 0 R /Info 3 0 R /ID [<%x> <%[2]x>] >>\nstartxref\n%d\n%%%%EOF\n", len(f.offsets)+1, id[:16], start)
	return f.out.Bytes()
}

// quoted is a string of plain letters.
func quoted(s string) string {
	return "(" + strings.NewReplacer(`\`, `\\`, "(", `\(`, ")", `\)`).Replace(s) + ")"
}

// text is a string of any letters: UTF-16 with its mark, in hexadecimal.
func text(s string) string {
	var b strings.Builder
	b.WriteString("<FEFF")
	for _, u := range utf16.Encode([]rune(s)) {
		fmt.Fprintf(&b, "%04X", u)
	}
	return b.String() + ">"
}

func moment(d groundhand.Date) string {
	y, m, day := d.Civil()
	return fmt.Sprintf("(D:%04d%02d%02d000000Z)", y, m, day)
}
