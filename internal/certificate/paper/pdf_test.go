package paper

import (
	"bytes"
	"fmt"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

func twoPages() []byte {
	first, second := &page{texts: []ink{{20, 20, plain, 12, "Ana (née) \\ Đ"}}}, &page{texts: []ink{{20, 20, bold, 12, "b"}}, code: "https://a.example/(1)"}
	return pdfOf([]*page{first, second}, about{title: "Łódź", author: "Peña", day: groundhand.MustDate("2024-06-10"), attached: &File{"a.json", []byte("{}")}})
}

// Readers that are less forgiving than most go by the table of objects.
func TestTableOfObjectsLeadsToEachObject(t *testing.T) {
	file := twoPages()
	start := regexp.MustCompile(`startxref\n(\d+)\n%%EOF\n$`).FindSubmatch(file)
	require.NotNil(t, start)
	at, err := strconv.Atoi(string(start[1]))
	require.NoError(t, err)
	require.True(t, bytes.HasPrefix(file[at:], []byte("xref\n0 ")))
	entries := regexp.MustCompile(`(\d{10}) 00000 n \n`).FindAllSubmatch(file[at:], -1)
	assert.Contains(t, string(file[at:]), fmt.Sprintf("xref\n0 %d\n0000000000 65535 f \n", len(entries)+1))
	assert.Contains(t, string(file[at:]), fmt.Sprintf("/Size %d ", len(entries)+1))
	for i, e := range entries {
		offset, err := strconv.Atoi(string(e[1]))
		require.NoError(t, err)
		assert.True(t, bytes.HasPrefix(file[offset:], fmt.Appendf(nil, "%d 0 obj\n", i+1)), "object %d", i+1)
	}
	assert.Len(t, entries, bytes.Count(file, []byte(" 0 obj\n")))
	for _, ref := range regexp.MustCompile(`(\d+) 0 R`).FindAllSubmatch(file, -1) {
		n, err := strconv.Atoi(string(ref[1]))
		require.NoError(t, err)
		assert.LessOrEqual(t, n, len(entries))
	}
}

func TestStreamsAreAsLongAsTheySay(t *testing.T) {
	file := twoPages()
	streams := regexp.MustCompile(`/Length (\d+) >>\nstream\n`).FindAllSubmatchIndex(file, -1)
	require.Len(t, streams, 2*3+2+1, "two fonts, two pages, one attachment")
	for _, s := range streams {
		n, err := strconv.Atoi(string(file[s[2]:s[3]]))
		require.NoError(t, err)
		assert.True(t, bytes.HasPrefix(file[s[1]+n:], []byte("\nendstream\nendobj\n")))
	}
}

func TestTextsOfThePropertiesKeepTheirLetters(t *testing.T) {
	file := twoPages()
	for _, want := range []string{"/Title <FEFF014100F30064017A>", "/Author <FEFF0050006500F10061>", `/URI (https://a.example/\(1\))`, "/Count 2 "} {
		assert.True(t, bytes.Contains(file, []byte(want)), want)
	}
}

func TestPagesGoOneAfterTheOther(t *testing.T) {
	content := string(drawing(&page{texts: []ink{{25.4, 297 - 25.4, plain, 12, "Aĺ"}}, bars: []bar{{0, 297, 25.4, 0, 25.4}, {0, 0, 25.4, 25.4, 25.4}}}))
	assert.Equal(t, "BT /F0 12.000 Tf 72.000 72.000 Td <0041013A> Tj ET\n"+
		"72.000 w 0.000 0.000 m 72.000 0.000 l S\n"+
		"72.000 w 0.000 769.890 72.000 72.000 re S\n", content)
}
