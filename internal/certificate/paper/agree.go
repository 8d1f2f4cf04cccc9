package paper

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"groundhand/internal/groundhand"
)

// cautionLabel begins a caution among the lines of the signed text.
const cautionLabel = "Caution"

// signed is as much of the attached credential as is held against the page. The signature is not looked at here: whoever fills a sheet has
// just made it or read it. What is looked at is that nobody can print words that were not signed.
type signed struct {
	ID         string
	ValidFrom  time.Time
	ValidUntil time.Time
	Subject    struct {
		Start time.Time `json:"activityStartDate"`
	} `json:"credentialSubject"`
	Proof struct {
		Method string `json:"verificationMethod"`
	}
}

func checkSigned(p *groundhand.Problems, s Sheet) {
	var c signed
	var all any
	switch {
	case len(s.Signed) == 0:
		p.Add(groundhand.CodeInvalid, "signed", "The signed file must be there before a certificate can be printed.")
		return
	case len(s.Signed) > MaxAttachment:
		p.Add(groundhand.CodeInvalid, "signed", "The signed file is larger than %d bytes.", MaxAttachment)
		return
	case json.Unmarshal(s.Signed, &all) != nil || json.Unmarshal(s.Signed, &c) != nil:
		p.Add(groundhand.CodeInvalid, "signed", "The signed file is not a signed credential.")
		return
	}
	if p.Any() {
		return // what cannot be printed is no sign of words that were not signed
	}
	said := map[string]bool{}
	collect(said, all)
	checkWords(p, s, said)
	checkMoments(p, s, c)
}

// collect gathers every line of every text in a JSON value.
func collect(said map[string]bool, v any) {
	switch v := v.(type) {
	case string:
		for line := range strings.Lines(v) {
			said[strings.TrimSuffix(line, "\n")] = true
		}
	case []any:
		for _, one := range v {
			collect(said, one)
		}
	case map[string]any:
		for _, one := range v {
			collect(said, one)
		}
	}
}

func checkWords(p *groundhand.Problems, s Sheet, said map[string]bool) {
	same := func(path, line string) {
		if line != "" && !said[line] {
			p.Add(groundhand.CodeInvalid, path, "This is not what the signed file says; a page must not say more.")
		}
	}
	same("number", s.Number)
	same("person", s.Person)
	same("employer", s.Employer)
	same("title", s.Title)
	same("assessor", s.Assessor)
	for i, f := range s.Practice {
		same(fmt.Sprintf("practice[%d].text", i), f.Label+": "+f.Text)
	}
	for i, f := range s.Rules {
		same(fmt.Sprintf("rules[%d].text", i), f.Label+": "+f.Text)
	}
	for i, caution := range s.Cautions {
		same(fmt.Sprintf("cautions[%d]", i), cautionLabel+": "+caution)
	}
}

// checkMoments holds the days and ids of the page against those signed. Each moment is written with the offset of its own day.
func checkMoments(p *groundhand.Problems, s Sheet, c signed) {
	differ := func(path string) {
		p.Add(groundhand.CodeInvalid, path, "This is not what the signed file says; a page must not say more.")
	}
	if s.ShownOn != groundhand.DateOf(c.Subject.Start) {
		differ("shownOn")
	}
	if s.LastGoodDay != groundhand.DateOf(c.ValidUntil) {
		differ("lastGoodDay")
	}
	if s.IssuedOn != groundhand.DateOf(c.ValidFrom) {
		differ("issuedOn")
	}
	if c.ID != "urn:uuid:"+s.CredentialID {
		differ("credentialId")
	}
	if !strings.HasSuffix(c.Proof.Method, "#"+s.KeyID) {
		differ("keyId")
	}
}
