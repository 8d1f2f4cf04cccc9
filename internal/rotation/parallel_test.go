package rotation

import (
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestAPanicAsideIsRaisedWhereItCanBeCaught(t *testing.T) {
	var done atomic.Int64
	assert.PanicsWithValue(t, "five", func() {
		inParallel(20, func(i int) {
			if i == 5 {
				panic("five")
			}
			done.Add(1)
		})
	})
	assert.EqualValues(t, 19, done.Load(), "the others come to their end")
}
