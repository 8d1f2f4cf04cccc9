package credential

import (
	"net/url"
	"regexp"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

var (
	anyUUID    = regexp.MustCompile(`^urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-[1-8][0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$`)
	randomUUID = regexp.MustCompile(`^urn:uuid:[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$`)
	// An id goes into the canonical form without any escaping, so a space or a bracket in it could end one statement and begin another.
	issuerID = regexp.MustCompile(`^(did:[a-z0-9]+:|https://)[A-Za-z0-9._~:/?\[\]@!$&'()*+,;=%-]+$`)
)

// garbled says what is wrong with a text, or nothing. Programs differ in how they write control characters into the canonical form,
// so a signature over them would not hold everywhere; U+FFFD says that something was lost before it came here.
func garbled(s string, lines bool) string {
	switch {
	case !utf8.ValidString(s):
		return "holds bytes that are not UTF-8"
	case strings.ContainsRune(s, utf8.RuneError):
		return "holds the replacement character U+FFFD, the trace of a text that was read wrongly"
	case strings.ContainsFunc(s, func(r rune) bool { return unicode.IsControl(r) && r != '\n' }):
		return "holds a control character"
	case !lines && strings.Contains(s, "\n"):
		return "holds a line feed"
	}
	return ""
}

// webAddress says whether a text is an https address that can stand in the canonical form as it is.
func webAddress(s string) bool {
	u, err := url.Parse(s)
	return err == nil && issuerID.MatchString(s) && u.Scheme == "https" && u.Host != "" && u.User == nil
}

// stamp writes a moment as RFC 3339 to the second with its own offset.
func stamp(t time.Time) string { return t.Format(time.RFC3339) }

// moment reads what stamp writes and nothing else: no fractions, no lower-case letters, no second way to write UTC, and not the first
// moment of the calendar, which stands for none. The place of the machine must not matter, which it does to time.Parse.
func moment(s string) (time.Time, bool) {
	t, err := time.ParseInLocation(time.RFC3339, s, time.UTC)
	return t, err == nil && stamp(t) == s && awry(t) == "" && !t.IsZero()
}

// awry says what keeps a moment from being written, or nothing.
func awry(t time.Time) string {
	_, offset := t.Zone()
	switch {
	case t.Year() < 1 || t.Year() > 9999:
		return "lies outside the years 1 to 9999"
	case t.Nanosecond() != 0:
		return "has a fraction of a second; cut it off before"
	case offset%60 != 0 || offset < -14*3600 || offset > 14*3600:
		return "has an offset that is not in whole minutes up to 14 hours"
	}
	return ""
}
