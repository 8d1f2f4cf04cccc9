package credential

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

func TestWhatIsSignedIsRead(t *testing.T) {
	found, err := Read(signed(t, sample()), published(webID, multikey(key)))
	require.NoError(t, err)
	require.Equal(t, Found{sample(), multikey(key), issued}, found)
}

// The example of the format that was agreed, signed by another program; its key is the one that its proof names. It has an e-mail
// address as a hash and a measured time beside what is shown.
func TestTheAgreedExampleIsRead(t *testing.T) {
	data, err := os.ReadFile("testdata/example.json")
	require.NoError(t, err)
	const agreed = "z6MksabQUwScavNEMofbE5kUKfJRHwrhbA4Vr26fkQwXQ5So"
	found, err := Read(data, published(webID, agreed))
	require.NoError(t, err)
	require.Equal(t, agreed, found.KeyID)
	require.Equal(t, "Rowan Aldersea", found.Person)
	require.Equal(t, "Imre Castellan, field assessor A-017", found.Assessor)
	require.Equal(t, &Status{"https://training.larkspur-ridge.example/status/1", 48213}, found.Status)
	require.Equal(t, time.Date(2026, time.May, 14, 21, 10, 0, 0, time.UTC), found.Created)
}
