package ledger_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"strconv"
	"testing"
	"unicode/utf8"

	"github.com/gowebpki/jcs"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/ledger"
)

func record(t require.TestingT, entry ...ledger.Cell) string {
	b, err := ledger.Record("yards", entry)
	require.NoError(t, err)
	return string(b)
}

func TestTheBytesOfALeaf(t *testing.T) {
	sealed := ledger.Sealed(sha256.Sum256([]byte("0123456789abcdefMara")))
	assert.Equal(t, sealed, ledger.Seal([]byte("0123456789abcdef"), "Mara"))
	for name, c := range map[string]struct {
		value any
		want  string
	}{
		"a number":                              {int64(-7), `"a":-7`},
		"the largest exact number":              {int64(1<<53 - 1), `"a":9007199254740991`},
		"a number that JSON does not carry":     {int64(1 << 53), `"a":"9007199254740992"`},
		"the smallest number":                   {int64(-1 << 63), `"a":"-9223372036854775808"`},
		"text":                                  {"Łódź", `"a":"Łódź"`},
		"text that is no UTF-8":                 {"a\xff", `"a":"hex:61ff"`},
		"text that looks like such":             {"hex:61ff", `"a":"hex:6865783a36316666"`},
		"a list":                                {`["F1"]`, `"a":"[\"F1\"]"`},
		"what must be escaped":                  {"\x00\b\t\n\f\r\x1f\"\\/\u007f<\u2028", `"a":"\u0000\b\t\n\f\r\u001f\"\\/` + "\u007f<\u2028" + `"`},
		"a sealed value":                        {sealed, `"a":"sealed:` + hex.EncodeToString(sealed[:]) + `"`},
		"nothing":                               {nil, ``},
		"no text":                               {"", ``},
		"zero":                                  {int64(0), ``},
		"an empty list, as a new column has it": {"[]", ``},
	} {
		t.Run(name, func(t *testing.T) {
			got := record(t, ledger.Cell{Column: "a", Value: c.value})
			assert.Equal(t, `{"entry":{`+c.want+`},"kind":"yards"}`, got)
		})
	}
	_, err := ledger.Record("yards", []ledger.Cell{{Column: "a", Value: 1.5}})
	assert.ErrorContains(t, err, "yards.a")
}

// An independent implementation of RFC 8785 (github.com/gowebpki/jcs) makes the same bytes of the same object.
func TestTheBytesAreThoseOfRFC8785(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		entry := map[string]any{}
		var cells []ledger.Cell
		for _, column := range rapid.SliceOfNDistinct(rapid.StringMatching(`[a-z][a-z_0-9]{0,12}`), 0, 8, rapid.ID).Draw(rt, "columns") {
			var value any = rapid.Int64Range(1, 1<<53-1).Draw(rt, "number")
			if rapid.Bool().Draw(rt, "text") {
				value = "t" + rapid.String().Draw(rt, "value")
			}
			entry[column] = value
			cells = append(cells, ledger.Cell{Column: column, Value: value})
		}
		loose, err := json.Marshal(map[string]any{"kind": "yards", "entry": entry})
		require.NoError(rt, err)
		want, err := jcs.Transform(loose)
		require.NoError(rt, err)
		require.Equal(rt, string(want), record(rt, cells...))
	})
}

// Two entries that differ in what they say never have the same leaf.
func TestALeafSaysWhatTheEntrySays(t *testing.T) {
	value := rapid.OneOf(rapid.Int64().AsAny(), rapid.String().AsAny(), rapid.SampledFrom([]string{"hex:00", "\xff", "sealed:", "[]", "9007199254740992"}).AsAny())
	same := func(a, b any) bool {
		return a == b || ledger.SaysNothing(a) && ledger.SaysNothing(b)
	}
	rapid.Check(t, func(rt *rapid.T) {
		a, b := value.Draw(rt, "a"), value.Draw(rt, "b")
		if _, text := a.(string); text != isText(b) {
			return // a column has one type
		}
		one, other := record(rt, ledger.Cell{Column: "c", Value: a}), record(rt, ledger.Cell{Column: "c", Value: b})
		require.Equal(rt, same(a, b), one == other, strconv.Quote(one))
		require.True(rt, utf8.ValidString(one))
		require.True(rt, json.Valid([]byte(one)))
	})
}

func isText(v any) bool { _, ok := v.(string); return ok }
