package groundhand

import (
	"database/sql/driver"
	"fmt"
	"time"
)

// Date is a civil day of the Gregorian calendar: the number of days since the last day of year 0, so that 0001-01-01 is 1.
// The zero Date means "no day". Dates compare with < and ==.
type Date int32

// Range of the days that may be recorded. Anything outside is a typing error, not a day of practice.
const (
	minYear = 1900
	maxYear = 2199
)

var dateEpoch = time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC).Unix()/86400 - 1

// NewDate gives the day of a year, month and day of month; days outside the month run over, as in time.Date.
func NewDate(year int, month time.Month, day int) Date {
	return Date(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix()/86400 - dateEpoch)
}

// ParseDate reads YYYY-MM-DD (RFC 3339 full-date) and nothing else, in the years 1900 to 2199.
func ParseDate(s string) (Date, error) {
	if len(s) == len(time.DateOnly) && s[4] == '-' && s[7] == '-' {
		year, month, day := digits(s[:4]), digits(s[5:7]), digits(s[8:])
		d := NewDate(year, time.Month(month), day)
		// A day that does not exist runs over and comes back as another one.
		if y, m, dd := d.Civil(); y == year && int(m) == month && dd == day && minYear <= year && year <= maxYear {
			return d, nil
		}
	}
	return 0, Invalid("", "The day %q is not a date like 2025-06-12.", s)
}

// digits reads plain figures; anything else gives a number that no date has.
func digits(s string) int {
	n := 0
	for _, c := range []byte(s) {
		if c < '0' || c > '9' {
			return -1
		}
		n = 10*n + int(c-'0')
	}
	return n
}

// MustDate is ParseDate for days written into the program.
func MustDate(s string) Date {
	d, err := ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

// DateOf is the civil day that t shows in its own location.
func DateOf(t time.Time) Date { return NewDate(t.Date()) }

func (d Date) utc() time.Time { return time.Unix((int64(d)+dateEpoch)*86400, 0).UTC() }

// Civil gives year, month and day of month.
func (d Date) Civil() (int, time.Month, int) { return d.utc().Date() }

// Weekday is the day of the week.
func (d Date) Weekday() time.Weekday { return d.utc().Weekday() }

// IsZero says that there is no day.
func (d Date) IsZero() bool { return d == 0 }

// String is YYYY-MM-DD, or empty for no day.
func (d Date) String() string {
	if d == 0 {
		return ""
	}
	return d.utc().Format(time.DateOnly)
}

// Words is the day as people read it, "Thu 5 Jun 2025".
func (d Date) Words() string {
	if d == 0 {
		return "no day"
	}
	return d.utc().Format("Mon 2 Jan 2006")
}

// AddDays moves by whole days.
func (d Date) AddDays(n int) Date { return d + Date(n) }

// AddMonths gives the same day of the month n months on or, where that month is shorter, its last day.
// It clips, as java.time plusMonths does; time.AddDate and SQL intervals run over into the next month instead.
// A course of periods adds k times N months to its first day, never N months to the last result.
func (d Date) AddMonths(n int) Date {
	y, m, day := d.Civil()
	first := time.Date(y, m+time.Month(n), 1, 0, 0, 0, 0, time.UTC)
	last := first.AddDate(0, 1, -1).Day()
	return NewDate(first.Year(), first.Month(), min(day, last))
}

// MonthEnd is the last day of the month of d.
func (d Date) MonthEnd() Date {
	y, m, _ := d.Civil()
	return NewDate(y, m+1, 0)
}

// Month counts months: 12 × year + month, January being 1.
func (d Date) Month() int {
	y, m, _ := d.Civil()
	return 12*y + int(m)
}

// Start is the first instant of the local day in a zone. It is usually 00:00; where the clock skips midnight it is the first
// instant after the gap, where midnight comes twice it is the first of the two. time.Date promises neither.
func (d Date) Start(zone *time.Location) time.Time {
	midnight := d.utc()
	before := offset(midnight.Add(-36*time.Hour), zone)
	after := offset(midnight.Add(36*time.Hour), zone)
	early, late := midnight.Add(-max(before, after)), midnight.Add(-min(before, after))
	for _, t := range []time.Time{early, late} {
		if local := t.In(zone); DateOf(local) == d && local.Hour() == 0 && local.Minute() == 0 {
			return local
		}
	}
	start, _ := late.In(zone).ZoneBounds()
	return start.In(zone)
}

// End is the first instant of the next local day: good through a day means good until its End.
func (d Date) End(zone *time.Location) time.Time { return (d + 1).Start(zone) }

func offset(t time.Time, zone *time.Location) time.Duration {
	_, s := t.In(zone).Zone()
	return time.Duration(s) * time.Second
}

// MarshalText and UnmarshalText carry a day through JSON as YYYY-MM-DD.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads YYYY-MM-DD; empty text is no day.
func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = 0
		return nil
	}
	v, err := ParseDate(string(b))
	*d = v
	return err
}

// Value stores a day as text, no day as NULL.
func (d Date) Value() (driver.Value, error) {
	if d == 0 {
		return nil, nil
	}
	return d.String(), nil
}

// Scan reads what Value stored, or a time from a database that has a date type.
func (d *Date) Scan(src any) error {
	switch v := src.(type) {
	case nil:
		*d = 0
		return nil
	case string:
		return d.UnmarshalText([]byte(v))
	case []byte:
		return d.UnmarshalText(v)
	case time.Time:
		*d = DateOf(v)
		return nil
	}
	return fmt.Errorf("a day cannot be read from %T", src)
}
