package paper

import (
	"net/url"
	"regexp"
	"strings"
	"unicode/utf8"

	"groundhand/internal/groundhand"
)

// Good is the only Sheet.Standing that is printed without a warning over the page.
const Good = "good"

// Longest texts that are looked at, in characters; the address is shorter so that its QR code stays coarse enough for a photocopy.
// A text inside these bounds is still refused when it does not fit its place on the page.
const (
	maxText    = 300
	maxAddress = 200
)

// Sheet is what one certificate says. Every field is required except AsKnownAt, and all are words for people: Method is "bucket rescue, two
// on the ground", never a code. What has no control family says so in words, because an empty place would read as "any".
type Sheet struct {
	Number          string          // also the name of the file: letters, digits, dot, dash, underscore
	Person          string          // as the roster writes the name; no other personal fact is printed
	Employer        string          // whose record this is
	Issuer          string          // who issued it for the employer
	Method          string          // rescue method, in words
	Role            string          // role practised, in words
	ControlFamily   string          // control family of the device, in words
	ShownOn         groundhand.Date // day of the practice
	ShownHow        string          // "practical assessment passed" or "practice run done"
	Assessor        string          // who watched it
	RuleSet         string          // name of the rule set under which the last good day was reckoned
	LastGoodDay     groundhand.Date // good through 24:00 local time of this day
	LastGoodDayRule string          // how that day was reckoned, in words
	CheckAddress    string          // absolute http or https address that tells the present standing; also in the QR code
	IssuedOn        groundhand.Date // also the date inside the PDF and the ZIP file
	Standing        string          // Good, or for example "withdrawn on Mon 5 May 2025"; anything but Good puts a warning on the page
	AsKnownAt       string          // optional: day, or day and moment with its zone, up to which the records were read, in words
}

// Check says whether the sheet can be printed whole. All problems come at once as groundhand.Errors of code INVALID, each with the
// field's path ("person", "lastGoodDay"). A character that cannot be set right is a problem: a box or a blank in a name is worse than none.
func Check(s Sheet) error {
	_, err := setPage(s)
	return err
}

func setPage(s Sheet) (*page, error) {
	var p groundhand.Problems
	for _, f := range fields(s) {
		checkText(&p, f)
	}
	checkNumber(&p, s.Number)
	checkAddress(&p, s.CheckAddress)
	checkDays(&p, s)
	if p.Any() {
		return nil, p.Err()
	}
	return compose(s)
}

// field is one text of a sheet under the path that a refusal names.
type field struct {
	path, text string
	optional   bool
}

func fields(s Sheet) []field {
	return []field{
		{path: "number", text: s.Number},
		{path: "person", text: s.Person},
		{path: "employer", text: s.Employer},
		{path: "issuer", text: s.Issuer},
		{path: "method", text: s.Method},
		{path: "role", text: s.Role},
		{path: "controlFamily", text: s.ControlFamily},
		{path: "shownHow", text: s.ShownHow},
		{path: "assessor", text: s.Assessor},
		{path: "ruleSet", text: s.RuleSet},
		{path: "lastGoodDayRule", text: s.LastGoodDayRule},
		{path: "checkAddress", text: s.CheckAddress},
		{path: "standing", text: s.Standing},
		{path: "asKnownAt", text: s.AsKnownAt, optional: true},
	}
}

func checkText(p *groundhand.Problems, f field) {
	switch {
	case f.text == "" && f.optional:
	case strings.TrimSpace(f.text) == "":
		p.Add(groundhand.CodeInvalid, f.path, "This must be filled in before a certificate can be printed.")
	case !utf8.ValidString(f.text):
		p.Add(groundhand.CodeInvalid, f.path, "This is not text in UTF-8, so it cannot be printed.")
	case utf8.RuneCountInString(f.text) > maxText:
		p.Add(groundhand.CodeInvalid, f.path, "This is longer than %d characters; shorten it.", maxText)
	default:
		if bad := unprintable(f.text); len(bad) > 0 {
			p.Add(groundhand.CodeInvalid, f.path, "The printer cannot set %s rightly; write this in Latin letters.", strings.Join(bad, ", "))
		}
	}
}

// fileName is what names a file alike on every system; deviceName is what one of them keeps for itself, whatever ending follows.
var (
	fileName   = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$`)
	deviceName = regexp.MustCompile(`(?i)^(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?$`)
)

func checkNumber(p *groundhand.Problems, number string) {
	if number == "" {
		return
	}
	if !fileName.MatchString(number) || deviceName.MatchString(number) {
		p.Add(groundhand.CodeInvalid, "number",
			"The number must be 1 to 40 letters, digits, dots, dashes and underscores, because the file is named after it.")
	}
}

func checkAddress(p *groundhand.Problems, address string) {
	if strings.TrimSpace(address) == "" {
		return
	}
	u, err := url.Parse(address)
	switch {
	case err != nil, u.Scheme != "https" && u.Scheme != "http", u.Host == "", u.User != nil, !plainASCII(address):
		p.Add(groundhand.CodeInvalid, "checkAddress", "The check address must be a whole web address like https://records.example/verify/1.")
	case len(address) > maxAddress:
		p.Add(groundhand.CodeInvalid, "checkAddress", "The check address is longer than %d characters.", maxAddress)
	}
}

func plainASCII(s string) bool {
	return strings.IndexFunc(s, func(r rune) bool { return r <= ' ' || r > '~' }) < 0
}

func checkDays(p *groundhand.Problems, s Sheet) {
	days := []struct {
		path string
		day  groundhand.Date
	}{{"shownOn", s.ShownOn}, {"lastGoodDay", s.LastGoodDay}, {"issuedOn", s.IssuedOn}}
	for _, d := range days {
		switch {
		case d.day.IsZero():
			p.Add(groundhand.CodeInvalid, d.path, "This day must be filled in before a certificate can be printed.")
		case d.day < s.ShownOn:
			p.Add(groundhand.CodeInvalid, d.path, "%s is before the practice itself, which was on %s.", d.day.Words(), s.ShownOn.Words())
		}
	}
}
