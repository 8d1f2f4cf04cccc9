package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Rows are signed by the same rules as forms, and who tried to sign what they may not is noted, whether the other rows are written or not.
func TestImportSigning(t *testing.T) {
	sc := newScene(t)
	must(sc, sc.desk.GrantAuthority, sc.authority(sc.gideon))
	passes := file(exchange.Assessments, passesHead,
		"2024-04-03,1002,,pair kit,lead,F1,pass,1005,", "2024-04-03,1005,,pair kit,lead,F1,pass,1005,", "2024-04-04,1003,,pair kit,lead,F3,pass,1005,")
	attempts := func() []string {
		found, err := store.All[groundhand.RefusedAttempt](sc.ctx, sc.store)
		require.NoError(t, err)
		var out []string
		for _, a := range found {
			assert.Equal(t, "import", a.Act)
			assert.Equal(t, sc.henrike, a.AuthorID)
			out = append(out, string(a.Rule)+" "+string(a.WorkerID)+" "+a.Message[:6])
		}
		return out
	}
	want := []string{"SELF_ASSESSMENT " + string(sc.gideon) + " Row 3:", "NO_AUTHORITY " + string(sc.tomasz) + " Row 4:"}

	assert.Equal(t, []string{"H3 INVALID", "H4 CONFLICT"}, cells(sc.preview(passes())))
	assert.Empty(t, attempts(), "a preview signs nothing")

	for range 2 {
		_, err := sc.desk.Import(sc.ctx, sc.coordinator, "all", passes(), Accept{All: true})
		require.ErrorIs(t, err, groundhand.CodeInvalid)
		assert.ElementsMatch(t, want, attempts(), "noted once, however often it is sent")
	}
	assert.Equal(t, 1, sc.imports(passes(), Accept{Clean: true}).Written)
	assert.ElementsMatch(t, append(want, want...), attempts(), "an import of the other rows is another attempt")
}
