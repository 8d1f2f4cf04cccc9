package groundhand

import (
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDateAddMonths(t *testing.T) {
	// java.time plusMonths (2007-03-31 + 1 month) and worked examples of date policies; each also follows from clipping by hand.
	for _, c := range []struct {
		from   string
		months int
		want   string
	}{
		{"2007-03-31", 1, "2007-04-30"}, {"2024-02-29", 12, "2025-02-28"}, {"2024-02-29", 48, "2028-02-29"},
		{"2024-08-31", 6, "2025-02-28"}, {"2025-08-31", 6, "2026-02-28"}, {"2023-02-28", 12, "2024-02-28"},
		{"2024-11-30", 3, "2025-02-28"}, {"2025-03-31", -1, "2025-02-28"}, {"2024-12-31", 0, "2024-12-31"},
	} {
		assert.Equal(t, c.want, MustDate(c.from).AddMonths(c.months).String(), c.from)
	}
}

func TestDateStart(t *testing.T) {
	for _, c := range []struct{ zone, day, want string }{
		{"Europe/Dublin", "2025-06-12", "2025-06-11T23:00:00Z"},
		{"Europe/Dublin", "2025-03-30", "2025-03-30T00:00:00Z"},
		{"Europe/Dublin", "2024-10-27", "2024-10-26T23:00:00Z"},
		{"America/Santiago", "2026-09-06", "2026-09-06T04:00:00Z"}, // the clock skips 00:00
		{"America/Havana", "2025-11-02", "2025-11-02T04:00:00Z"},   // 00:00 comes twice: the first
		{"Pacific/Apia", "2011-12-31", "2011-12-30T10:00:00Z"},
		{"Asia/Beirut", "2026-03-29", "2026-03-28T22:00:00Z"},
		{"UTC", "2024-02-29", "2024-02-29T00:00:00Z"},
	} {
		zone, err := time.LoadLocation(c.zone)
		require.NoError(t, err)
		assert.Equal(t, c.want, MustDate(c.day).Start(zone).UTC().Format(time.RFC3339), c.zone+" "+c.day)
	}
}

func TestDateStartIsTheFirstInstantOfTheDayEverywhere(t *testing.T) {
	for _, name := range []string{"Europe/Dublin", "America/Santiago", "America/Havana", "Africa/Cairo", "Asia/Beirut", "Australia/Lord_Howe", "America/New_York"} {
		zone, err := time.LoadLocation(name)
		require.NoError(t, err)
		for d := MustDate("2023-12-31"); d < MustDate("2027-01-02"); d++ {
			start := d.Start(zone)
			require.Equal(t, d, DateOf(start), "%s %s", name, d)
			require.NotEqual(t, d, DateOf(start.Add(-time.Second)), "%s %s", name, d)
		}
	}
}

func TestParseDateRefusesAllButISODays(t *testing.T) {
	for _, s := range []string{"", "2025-6-1", "2025-02-29", "01/02/2025", "2025-06-12T00:00:00Z", "1066-10-14", "9999-01-01", "２０２５-01-01"} {
		_, err := ParseDate(s)
		assert.ErrorIs(t, err, CodeInvalid, s)
	}
}

func FuzzParseDate(f *testing.F) {
	f.Add("2024-02-29")
	f.Fuzz(func(t *testing.T, s string) {
		if d, err := ParseDate(s); err == nil && d.String() != s {
			t.Fatalf("%q came back as %q", s, d)
		}
	})
}
