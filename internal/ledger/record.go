package ledger

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// SaltSize is how many random bytes keep a sealed value from being guessed.
const SaltSize = 16

// Cell is one column of an entry: a value of type nil, int64 or string as the database stores it, or Sealed.
type Cell struct {
	Column string
	Value  any
}

// Sealed stands in a leaf in place of a value that can be erased later without breaking the log.
type Sealed [sha256.Size]byte

// Seal hides a value behind a salt.
func Seal(salt []byte, value string) Sealed {
	return sha256.Sum256(append(slices.Clone(salt), value...))
}

// SaysNothing tells of a stored value whether a leaf leaves it out.
func SaysNothing(value any) bool {
	switch v := value.(type) {
	case nil:
		return true
	case int64:
		return v == 0
	case string:
		return v == "" || v == "[]"
	}
	return false
}

// Record gives the bytes of a leaf. Cells may come in any order; values of other types are an error of the caller's.
func Record(kind string, entry []Cell) ([]byte, error) {
	byName := func(a, b Cell) int { return cmp.Compare(a.Column, b.Column) }
	if !slices.IsSortedFunc(entry, byName) {
		entry = slices.SortedFunc(slices.Values(entry), byName)
	}
	out := append(make([]byte, 0, 512), `{"entry":{`...)
	first := true
	for _, c := range entry {
		if SaysNothing(c.Value) {
			continue
		}
		if !first {
			out = append(out, ',')
		}
		first = false
		out = append(appendText(out, c.Column), ':')
		var err error
		if out, err = appendValue(out, c.Value); err != nil {
			return nil, fmt.Errorf("%s.%s: %w", kind, c.Column, err)
		}
	}
	out = append(out, `},"kind":`...)
	return append(appendText(out, kind), '}'), nil
}

// exact is the largest whole number that every reader of JSON carries exactly (RFC 8785 appendix B; RFC 7493 section 2.2).
const exact = 1<<53 - 1

func appendValue(out []byte, value any) ([]byte, error) {
	switch v := value.(type) {
	case int64:
		if -exact <= v && v <= exact {
			return strconv.AppendInt(out, v, 10), nil
		}
		return appendText(out, strconv.FormatInt(v, 10)), nil
	case string:
		return appendText(out, plain(v)), nil
	case Sealed:
		return appendText(out, "sealed:"+hex.EncodeToString(v[:])), nil
	}
	return nil, fmt.Errorf("a leaf holds no %T", value)
}

const asHex = "hex:"

// plain is text that JSON can carry, and that no other text is turned into.
func plain(text string) string {
	if utf8.ValidString(text) && !strings.HasPrefix(text, asHex) {
		return text
	}
	return asHex + hex.EncodeToString([]byte(text))
}

// appendText writes a string as RFC 8785 section 3.2.2.2 has it: only what must be escaped is, in the shortest way.
func appendText(out []byte, text string) []byte {
	const digits = "0123456789abcdef"
	out = append(out, '"')
	for i := 0; i < len(text); i++ {
		c := text[i]
		switch short := strings.IndexByte("\b\t\n\f\r\"\\", c); {
		case short >= 0:
			out = append(out, '\\', `btnfr"\`[short])
		case c < 0x20:
			out = append(out, '\\', 'u', '0', '0', digits[c>>4], digits[c&15])
		default:
			out = append(out, c)
		}
	}
	return append(out, '"')
}
