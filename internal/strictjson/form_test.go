package strictjson

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

const sample = "sample/1"

// read asks for a number, a text that may be missing, and a list of objects with an id.
func read(data string) (number int, text string, ids []string, err error) {
	f := NewForm()
	r, ok := f.Open([]byte(data), sample, 1<<20)
	if !ok {
		return 0, "", nil, f.Err()
	}
	number, text = r.Whole("number"), r.Label("text")
	ids = Records(r, "items", true, func(r Record) string { return r.Text("id") })
	r.Done()
	Declare(f, "items", ids, func(id string) string { return id })
	f.Between("number", number, 0, 9)
	return number, text, ids, f.Err()
}

func fields(err error) []string {
	var out []string
	for _, e := range groundhand.Refusals(err) {
		out = append(out, e.Field)
	}
	return out
}

func TestAFormIsReadFieldByField(t *testing.T) {
	number, text, ids, err := read(`{"format": "sample/1", "number": 8.0, "text": null, "items": [{"id": "a"}, {"id": "b"}]}`)
	require.NoError(t, err)
	assert.Equal(t, 8, number)
	assert.Empty(t, text)
	assert.Equal(t, []string{"a", "b"}, ids)
}

func TestEveryFaultIsNamedOnceAndAllAtOnce(t *testing.T) {
	_, _, _, err := read(`{"format": "sample/2", "number": 10, "text": "", "items": [{"id": "a"}, {"id": "a"}, 3, {"idd": "c"}], "more": 1}`)
	assert.ElementsMatch(t, []string{"format", "number", "text", "items[1].id", "items[2]", "items[3].id", "items[3].idd", "more"}, fields(err))
}

func TestAnIDThatCouldGarbleATerminalIsRefused(t *testing.T) {
	_, _, ids, err := read(`{"format": "sample/1", "number": 1, "items": [{"id": "W1\u001b[2J"}, {"id": "Zo\u00eb"}]}`)
	assert.Equal(t, []string{"items[0].id"}, fields(err))
	assert.Equal(t, "Zoë", ids[1])
}

func TestWhatIsNotOneJSONValueIsRefused(t *testing.T) {
	for text, field := range map[string]string{
		``: "", `{`: "", `{"format": "sample/1"} {}`: "", `{"number": 1, "number": 2}`: "number", `[`: "", `[1]`: "", `null`: "",
		strings.Repeat(`{"a":`, 20): strings.Repeat("a.", 15) + "a", `{"items": [{"id": 1, "id": 2}]}`: "items[0].id",
	} {
		_, _, _, err := read(text)
		assert.Equal(t, []string{field}, fields(err), "%q", text)
	}
	f := NewForm()
	_, ok := f.Open(make([]byte, 9), sample, 8)
	assert.False(t, ok)
	assert.ErrorIs(t, f.Err(), groundhand.CodeTooLarge)
}

func FuzzOpen(f *testing.F) {
	f.Add([]byte(`{"format": "sample/1", "number": 1, "items": [{"id": "a"}]}`))
	f.Add([]byte(`{"format": 1, "format": 2}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		_, _, ids, err := read(string(data))
		if err == nil && len(ids) > len(data) {
			t.Errorf("%d items from %d bytes", len(ids), len(data))
		}
		if err != nil && len(groundhand.Refusals(err)) == 0 {
			t.Errorf("not a refusal: %v", err)
		}
	})
}
