package rulebook

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWhatWasReadIsTheSameAgain(t *testing.T) {
	for _, set := range Shipped() {
		fresh, err := read(set.Body)
		require.NoError(t, err)
		for range 2 {
			got, err := Read(set.Body)
			require.NoError(t, err)
			assert.Equal(t, fresh, got)
		}
	}
	_, first := Read("{")
	_, again := Read("{")
	assert.Equal(t, first, again, "a fault is told every time")
	assert.Error(t, again)
}

func TestNotMoreIsKeptThanIsGood(t *testing.T) {
	body := Shipped()[0].Body
	for i := range 3 * mostKept {
		_, err := Read(body + strings.Repeat(" ", i))
		require.NoError(t, err, fmt.Sprint(i))
		require.LessOrEqual(t, len(kept.rules), mostKept)
	}
}
