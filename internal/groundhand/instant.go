package groundhand

import (
	"database/sql/driver"
	"fmt"
	"time"
)

// Instant is a moment in whole milliseconds since 1970-01-01T00:00:00Z. The zero Instant means "no moment known".
type Instant int64

// InstantOf cuts a time to the precision that is stored.
func InstantOf(t time.Time) Instant {
	if t.IsZero() {
		return 0
	}
	return Instant(t.UnixMilli())
}

// Time is the moment in UTC; the zero time for no moment.
func (i Instant) Time() time.Time {
	if i == 0 {
		return time.Time{}
	}
	return time.UnixMilli(int64(i)).UTC()
}

// IsZero says that no moment is known.
func (i Instant) IsZero() bool { return i == 0 }

// In is the moment on the clock of a zone.
func (i Instant) In(zone *time.Location) time.Time { return i.Time().In(zone) }

// String is RFC 3339 in UTC, or empty.
func (i Instant) String() string {
	if i == 0 {
		return ""
	}
	return i.Time().Format(time.RFC3339)
}

// Value stores whole milliseconds, no moment as NULL.
func (i Instant) Value() (driver.Value, error) {
	if i == 0 {
		return nil, nil
	}
	return int64(i), nil
}

// Scan reads what Value stored.
func (i *Instant) Scan(src any) error {
	switch v := src.(type) {
	case nil:
		*i = 0
	case int64:
		*i = Instant(v)
	default:
		return fmt.Errorf("a moment cannot be read from %T", src)
	}
	return nil
}

// MarshalText writes RFC 3339 in UTC, as JSON carries a moment.
func (i Instant) MarshalText() ([]byte, error) { return []byte(i.String()), nil }

// UnmarshalText reads RFC 3339 with an offset, cut to the whole second, which is as exact as the files of facts and questions are; empty
// text is no moment.
func (i *Instant) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*i = 0
		return nil
	}
	t, err := time.Parse(time.RFC3339, string(b))
	if err != nil {
		return Invalid("", "The moment %q is not a time like 2025-06-12T06:00:00+01:00.", string(b))
	}
	*i = InstantOf(t.Truncate(time.Second))
	return nil
}
