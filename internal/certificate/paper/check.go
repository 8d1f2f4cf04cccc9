package paper

import (
	"fmt"
	"net/url"
	"regexp"
	"strings"
	"unicode/utf8"

	"groundhand/internal/groundhand"
)

// checkTexts looks at every text that people read. An empty place would read as "any", so only the assessor may be missing.
func checkTexts(p *groundhand.Problems, s Sheet) {
	checkText(p, "number", s.Number, maxText)
	checkText(p, "person", s.Person, maxText)
	checkText(p, "employer", s.Employer, maxText)
	checkText(p, "title", s.Title, maxText)
	if s.Assessor != "" {
		checkText(p, "assessor", s.Assessor, maxText)
	}
	checkFacts(p, "practice", s.Practice)
	checkFacts(p, "rules", s.Rules)
	if len(s.Cautions) == 0 || len(s.Cautions) > maxCautions {
		p.Add(groundhand.CodeInvalid, "cautions", "A certificate carries 1 to %d cautions; these are %d.", maxCautions, len(s.Cautions))
		return
	}
	for i, caution := range s.Cautions {
		checkText(p, fmt.Sprintf("cautions[%d]", i), caution, maxCaution)
	}
}

func checkFacts(p *groundhand.Problems, path string, facts []Fact) {
	if len(facts) == 0 || len(facts) > maxFacts {
		p.Add(groundhand.CodeInvalid, path, "A certificate has 1 to %d facts here; these are %d.", maxFacts, len(facts))
		return
	}
	for i, f := range facts {
		label := fmt.Sprintf("%s[%d].label", path, i)
		checkText(p, label, f.Label, maxText)
		checkText(p, fmt.Sprintf("%s[%d].text", path, i), f.Text, maxText)
		if width(f.Label, plain, labelType[0].size) > maxLabel {
			p.Add(groundhand.CodeInvalid, label, "This label is wider than its column; shorten it.")
		}
	}
}

func checkText(p *groundhand.Problems, path, text string, longest int) {
	switch {
	case strings.TrimSpace(text) == "":
		p.Add(groundhand.CodeInvalid, path, "This must be filled in before a certificate can be printed.")
	case !utf8.ValidString(text):
		p.Add(groundhand.CodeInvalid, path, "This is not text in UTF-8, so it cannot be printed.")
	case utf8.RuneCountInString(text) > longest:
		p.Add(groundhand.CodeInvalid, path, "This is longer than %d characters; shorten it.", longest)
	default:
		if bad := unprintable(text); len(bad) > 0 {
			p.Add(groundhand.CodeInvalid, path, "The printer cannot set %s rightly; write this in Latin letters.", strings.Join(bad, ", "))
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

func checkAddress(p *groundhand.Problems, s Sheet) {
	if s.CheckAddress == "" {
		return
	}
	u, err := url.Parse(s.CheckAddress)
	switch {
	case err != nil, u.Scheme != "https", u.Host == "", u.User != nil, !plainASCII(s.CheckAddress):
		p.Add(groundhand.CodeInvalid, "checkAddress", "The check address must be a whole web address that begins with https://.")
	case len(s.CheckAddress) > maxAddress:
		p.Add(groundhand.CodeInvalid, "checkAddress", "The check address is longer than %d characters.", maxAddress)
	case !strings.HasSuffix(s.CheckAddress, "/"+s.CredentialID):
		p.Add(groundhand.CodeInvalid, "checkAddress", "The check address must end in the credential's own id; this one leads elsewhere.")
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

// credentialID is a random UUID as RFC 9562 writes it; multikey is an Ed25519 public key as a Multikey (W3C Controlled Identifiers, 2.2.2).
var (
	credentialID = regexp.MustCompile(`^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$`)
	multikey     = regexp.MustCompile(`^z6Mk[1-9A-HJ-NP-Za-km-z]{44}$`)
)

func checkIDs(p *groundhand.Problems, s Sheet) {
	if !credentialID.MatchString(s.CredentialID) {
		p.Add(groundhand.CodeInvalid, "credentialId", "The id of the credential must be a random UUID in lower case; %q is none.", s.CredentialID)
	}
	if !multikey.MatchString(s.KeyID) {
		p.Add(groundhand.CodeInvalid, "keyId", "The key must be named as an Ed25519 Multikey (z6Mk and 44 more); %q is none.", s.KeyID)
	}
}
