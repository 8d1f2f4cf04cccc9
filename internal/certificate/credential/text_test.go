package credential

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// RFC 3339 to the second, in the one way that is written here.
func TestMoments(t *testing.T) {
	for _, s := range []string{"2027-03-01T09:30:00Z", "2028-02-29T23:59:59-06:00", "2027-03-01T09:30:00+05:45", "9999-12-31T23:59:59+14:00"} {
		at, ok := moment(s)
		require.True(t, ok, s)
		require.Equal(t, s, stamp(at))
	}
	for _, s := range []string{"", "2027-03-01", "2027-03-01T09:30:00", "2027-03-01 09:30:00Z", "2027-03-01t09:30:00z", "2027-03-01T09:30:00.5Z",
		"2027-03-01T09:30:00.0Z", "2027-03-01T09:30:00,5Z", "2027-03-01T09:30:00+00:00", "2027-03-01T09:30:00-00:00", "2027-02-29T09:30:00Z", "2027-03-01T24:00:00Z",
		"2027-03-01T23:59:60Z", "2027-03-01T09:30:00+14:01", "2027-03-01T9:30:00Z", "02027-03-01T09:30:00Z", "0000-03-01T09:30:00Z",
		"0001-01-01T00:00:00Z", "2027-03-01T09:30:00Z "} {
		_, ok := moment(s)
		require.False(t, ok, s)
	}
}

// A moment that was read is the same wherever the machine stands: with time.Parse, its zone would have a name there.
func TestMomentsDoNotDependOnThePlace(t *testing.T) {
	kept := time.Local
	defer func() { time.Local = kept }()
	read := func(place *time.Location) time.Time {
		time.Local = place
		at, ok := moment("2028-02-29T23:59:59-06:00")
		require.True(t, ok)
		return at
	}
	require.Equal(t, read(time.UTC), read(time.FixedZone("home", -6*3600)))
}
