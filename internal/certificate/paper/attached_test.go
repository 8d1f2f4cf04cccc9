package paper_test

import (
	"bytes"
	"compress/zlib"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
)

func packed(data []byte) []byte {
	var b bytes.Buffer
	z := zlib.NewWriter(&b)
	_, _ = z.Write(data)
	_ = z.Close()
	return b.Bytes()
}

// withStreams is a small PDF of objects with these dictionaries and streams; no reader but ours would take it.
func withStreams(streams ...[2]string) []byte {
	var b bytes.Buffer
	b.WriteString("%PDF-1.7\n")
	for i, s := range streams {
		fmt.Fprintf(&b, "%d 0 obj\n<< %s >>\nstream\n%s\nendstream\nendobj\n", i+1, s[0], s[1])
	}
	b.WriteString("trailer << /Root 1 0 R >>\n%%EOF\n")
	return b.Bytes()
}

func plainFile(json string) [2]string {
	return [2]string{fmt.Sprintf("/Type /EmbeddedFile /Length %d", len(json)), json}
}

func packedFile(data []byte) [2]string {
	p := packed(data)
	return [2]string{fmt.Sprintf("/Type /EmbeddedFile /Filter /FlateDecode /Length %d", len(p)), string(p)}
}

func attached(t testing.TB, pdf []byte) []string {
	t.Helper()
	got, err := paper.Attached(pdf)
	require.NoError(t, err)
	var out []string
	for _, b := range got {
		out = append(out, string(b))
	}
	return out
}

func attachedRefusal(t testing.TB, pdf []byte) string {
	t.Helper()
	got, err := paper.Attached(pdf)
	require.Empty(t, got)
	list := groundhand.Refusals(err)
	require.Len(t, list, 1, "%v", err)
	assert.Equal(t, "file", list[0].Field)
	return string(list[0].Code)
}

func TestAttachedGivesBackWhatWasSigned(t *testing.T) {
	s := paper.Sample()
	assert.Equal(t, []string{string(s.Signed)}, attached(t, printed(t, s)))
}

func TestAttachedReadsWhatOtherWritersMake(t *testing.T) {
	const a, b = `{"a":"endstream inside"}`, ` {"b":1}`
	for name, c := range map[string]struct {
		pdf  []byte
		want []string
	}{
		"plain and packed":      {withStreams(plainFile(a), packedFile([]byte(b))), []string{a, b}},
		"the same twice":        {withStreams(plainFile(a), packedFile([]byte(a))), []string{a}},
		"other kinds of files":  {withStreams(plainFile("<xml/>"), plainFile(""), plainFile(a)), []string{a}},
		"filter in an array":    {withStreams([2]string{"/Type/EmbeddedFile/Filter[/FlateDecode]", string(packed([]byte(a)))}), []string{a}},
		"length elsewhere":      {withStreams([2]string{"/Type /EmbeddedFile /Length 9 0 R", `{"c":2}`}), []string{`{"c":2}`}},
		"length wrong":          {withStreams([2]string{"/Type /EmbeddedFile /Length 3", `{"c":2}`}), []string{`{"c":2}`}},
		"length beyond the end": {withStreams([2]string{"/Type /EmbeddedFile /Length 999999999", `{"c":2}`}), []string{`{"c":2}`}},
		"without its type":      {withStreams([2]string{"/Params << /Size 7 >>", `{"c":2}`}), []string{`{"c":2}`}},
		"another filter":        {withStreams([2]string{"/Type /EmbeddedFile /Filter /LZWDecode", a}), nil},
		"a page, no attachment": {withStreams([2]string{"/Length 7", `{"c":2}`}), nil},
		"in a page's stream":    {withStreams([2]string{"/Length 70", "3 0 obj <</Type /EmbeddedFile>> stream\n{}"}), nil},
		"texts, comments, nests": {withStreams([2]string{
			`/D (a \) >> (in) b) /H <3e3e> % >> ` + "\n" + `/N << /Type /Other /K [ << >> ] >> /Type /EmbeddedFile`, `{"c":2}`}), []string{`{"c":2}`}},
	} {
		t.Run(name, func(t *testing.T) { assert.Equal(t, c.want, attached(t, c.pdf)) })
	}
}

func TestAttachedRefusesWhatItCannotRead(t *testing.T) {
	page := printed(t, paper.Sample())
	many := make([][2]string, 70)
	for i := range many {
		many[i] = plainFile(fmt.Sprintf(`{"n":%d}`, i))
	}
	for name, c := range map[string]struct {
		pdf  []byte
		want string
	}{
		"nothing":             {nil, "INVALID"},
		"another file":        {[]byte("PK\x03\x04 certificate"), "INVALID"},
		"too large":           {append(page, make([]byte, paper.MaxPDF)...), "TOO_LARGE"},
		"encrypted":           {append(withStreams(plainFile("{}")), "trailer << /Encrypt 9 0 R >>"...), "INVALID"},
		"encrypted, packed":   {withStreams([2]string{"/Type /XRef /Encrypt << /Filter /Standard >>", "x"}, plainFile("{}")), "INVALID"},
		"cut off":             {withStreams(plainFile("{}"))[:60], "INVALID"},
		"no JSON after all":   {withStreams(plainFile("{oops}")), "INVALID"},
		"packed data damaged": {bytes.Replace(withStreams(packedFile([]byte("{}"))), []byte("\x78\x9c"), []byte("\x78\x9d"), 1), "INVALID"},
		"nine files":          {withStreams(many[:9]...), "TOO_LARGE"},
		"many other files":    {withStreams(append(many[:0:0], bytesRepeat(plainFile("<xml/>"), 65)...)...), "TOO_LARGE"},
		"one file too large":  {withStreams(packedFile(append([]byte("{"), bytes.Repeat([]byte(" "), paper.MaxAttachment)...))), "TOO_LARGE"},
	} {
		t.Run(name, func(t *testing.T) { assert.Equal(t, c.want, attachedRefusal(t, c.pdf)) })
	}
	assert.Len(t, attached(t, withStreams(many[:8]...)), 8)
}

func bytesRepeat(s [2]string, n int) [][2]string {
	out := make([][2]string, n)
	for i := range out {
		out[i] = s
	}
	return out
}

func TestAttachedOfATornPageNeverInvents(t *testing.T) {
	s := paper.Sample()
	page := printed(t, s)
	for cut := 0; cut < len(page); cut += 97 {
		got, err := paper.Attached(page[:cut])
		if err == nil && len(got) > 0 {
			assert.Equal(t, [][]byte{s.Signed}, got, "cut at %d", cut)
		}
	}
}

// Each of these would keep a careless reader busy for minutes or fill its memory: every byte begins something that never ends.
func TestAttachedDoesNotWorkHarderThanTheFileIsLong(t *testing.T) {
	bomb := packedFile(append([]byte("{"), bytes.Repeat([]byte(" "), 64<<20)...))
	silent := packedFile(bytes.Repeat([]byte{0}, 64<<20))
	inputs := map[string][]byte{
		"one bomb":                       withStreams(bomb),
		"bombs of no JSON":               withStreams(bytesRepeat(silent, 30)...),
		"many that are nearly too large": withStreams(bytesRepeat(packedFile(append(bytes.Repeat([]byte(" "), 60), []byte("{ \"a\": 1"+strings.Repeat(" ", 1_000_000)+"}")...)), 32)...),
	}
	for _, unit := range []string{
		" obj<<", " obj<<>>", " obj(", " obj<</A(", " obj<</A[", " obj<</A<<", " obj<</A<", " obj<<>>%", " obj<<>>stream", " obj%", "trailer<<", "trailer(",
		"trailer<</A(", "<<", "[", "(", "<", "/", "%", "1 0 obj<</Length 1>>stream\n", " obj<</Type/EmbeddedFile/Length 2000000>>stream\n",
	} {
		inputs[unit] = append([]byte("%PDF-1.4\n"), bytes.Repeat([]byte(unit), (paper.MaxPDF-16)/len(unit))...)
	}
	for name, pdf := range inputs {
		t.Run(name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			got, err := paper.Attached(pdf)
			runtime.ReadMemStats(&after)
			sound(t, got, err)
			assert.Less(t, (after.TotalAlloc-before.TotalAlloc)>>20, uint64(256), "MiB taken in all")
		})
	}
}

// sound checks what holds of any answer.
func sound(t require.TestingT, got [][]byte, err error) {
	if err != nil {
		require.Empty(t, got)
		require.Len(t, groundhand.Refusals(err), 1)
		return
	}
	require.LessOrEqual(t, len(got), 8)
	for _, b := range got {
		require.LessOrEqual(t, len(b), paper.MaxAttachment)
		require.True(t, json.Valid(b))
	}
}

func FuzzAttached(f *testing.F) {
	f.Add(printed(f, paper.Sample()))
	f.Add(withStreams(plainFile(`{"a":1}`), packedFile([]byte(`{"b":2}`))))
	f.Add([]byte("%PDF- 1 0 obj<</A(\\(<[/Type/EmbeddedFile>>stream\r\nendstream trailer<</Encrypt 1 0 R>>"))
	f.Fuzz(func(t *testing.T, pdf []byte) {
		got, err := paper.Attached(pdf)
		sound(t, got, err)
	})
}

// A page that went through somebody's tool is still one that can be checked.
func TestAttachedReadsPagesThatWereSavedAgain(t *testing.T) {
	if _, err := exec.LookPath("qpdf"); err != nil {
		t.Skip("qpdf is not installed")
	}
	s := paper.Sample()
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in.pdf"), filepath.Join(dir, "out.pdf")
	require.NoError(t, os.WriteFile(in, printed(t, s), 0o600))
	run(t, nil, "qpdf", "--check", in)
	again := func(args ...string) []byte {
		run(t, nil, "qpdf", append(append([]string{"--deterministic-id"}, args...), in, out)...)
		pdf, err := os.ReadFile(out)
		require.NoError(t, err)
		return pdf
	}
	for _, args := range [][]string{
		{}, {"--object-streams=generate"}, {"--linearize"}, {"--stream-data=uncompress"}, {"--recompress-flate"}, {"--qdf"},
		{"--qdf", "--object-streams=generate"}, {"--newline-before-endstream"}, {"--coalesce-contents", "--object-streams=generate", "--linearize"},
	} {
		assert.Equal(t, []string{string(s.Signed)}, attached(t, again(args...)), "%v", args)
	}
	run(t, nil, "qpdf", "--encrypt", "", "owner", "256", "--", in, out)
	pdf, err := os.ReadFile(out)
	require.NoError(t, err)
	assert.Equal(t, "INVALID", attachedRefusal(t, pdf))
	run(t, nil, "qpdf", "--encrypt", "", "owner", "256", "--", "--object-streams=generate", in, out)
	pdf, err = os.ReadFile(out)
	require.NoError(t, err)
	assert.Equal(t, "INVALID", attachedRefusal(t, pdf))
}
