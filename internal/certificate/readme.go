package certificate

import (
	"fmt"
	"slices"
	"strings"

	"groundhand/internal/certificate/paper"
)

// readme tells in plain words what the export is and how to check it. It says the day of the export and no minute, so that the same request on
// the same day gives the same bytes.
func (s selection) readme() string {
	parts := []string{s.whatItIs()}
	if len(s.in) > 0 {
		parts = append(parts, s.howToCheck(), s.whatToExpect())
	}
	parts = append(parts, s.notIn(), beforeRelying())
	return strings.Join(slices.DeleteFunc(parts, func(p string) bool { return p == "" }), "\n")
}

func (s selection) whatItIs() string {
	out := fmt.Sprintf(`RECORDS OF RESCUE PRACTICE: CERTIFICATES
Given out by %s on %s. Certificates in this export: %d.

manifest.csv       one row for each certificate, opens in a spreadsheet; "status" is that of the day of the export
`, s.name, s.day.Words(), len(s.in))
	if len(s.in) > 0 {
		out += `certificates/      the pages, for reading and printing; each has its signed file attached
credentials/       the signed files: what counts is these, a page is only a rendering of one
`
	}
	out += "issuer/did.json    the public keys of who signed\n"
	if s.online() {
		out += "status/            the signed list of what was withdrawn or replaced, as it stood on the day of the export\n"
	}
	return out
}

func (s selection) howToCheck() string {
	var out strings.Builder
	out.WriteString("HOW TO CHECK ONE CERTIFICATE\n")
	if s.online() {
		out.WriteString(`Scan the square code on the page, or open the address beside it. It says whether the certificate is valid today, and nothing about the
person. Compare number, training and days with the page. To see what was really signed, drop the PDF or the signed file on the check page
(the same address without its last part). Text on a page can be changed by whoever has it; what was signed cannot.
`)
	} else {
		out.WriteString(`These certificates have no check address, and they cannot be withdrawn electronically: ask the issuer whether one still counts. The signature
can be checked with the command below.
`)
	}
	fmt.Fprintf(&out, `
HOW TO CHECK ALL OF THEM WITHOUT TRUSTING US
Unpack this file and check it with any verifier for Verifiable Credentials 2.0 or Open Badges 3.0. One command for everything, in a terminal in
the folder, is that of the independent checker with which this program is tested. It is not in this file: ask the issuer for it (PATH is the
folder it is in):

  node PATH/verify.mjs %s .

It checks every signature, the days, the list of what was withdrawn, every digest in manifest.csv, that page and signed file carry the same, and that
no file was added. It counts two for each certificate, the signed file and the page. Replace the moment after --at by another to ask about that
day, such as the day of a job. A certificate speaks from the moment of its issue on; about a job before that, compare the day shown and the last good
day in it.%s
`, strings.Join(s.command(), " "), s.aboutOver())
	return out.String()
}

func (s selection) aboutOver() string {
	if !s.overs {
		return ""
	}
	return " Some certificates are over by their last good day; --allow-expired lets them be over without failing."
}

func (s selection) online() bool { return len(s.lists) > 0 }

// command is exactly what checks the export, as of the end of its day.
func (s selection) command() []string {
	args := []string{"--did-doc issuer/did.json"}
	for _, list := range s.lists {
		args = append(args, "--status status/"+list.Name)
	}
	var issuers []string
	for _, cert := range s.in {
		if !slices.Contains(issuers, cert.IssuerID) {
			issuers = append(issuers, cert.IssuerID)
		}
	}
	slices.Sort(issuers)
	for _, id := range issuers {
		args = append(args, "--issuer "+id)
	}
	args = append(args, "--manifest manifest.csv", fmt.Sprintf("--expect %d", 2*len(s.in)), "--at "+s.until)
	if s.overs {
		args = append(args, "--allow-expired")
	}
	return args
}

func (s selection) whatToExpect() string {
	domain := `That the signature fits says that nothing was changed since it was signed. Who signed is told by issuer/did.json, and a copy proves nothing by itself:
compare it with the one that the issuer publishes at its own address (/.well-known/did.json), or ask the issuer for its key.`
	if !s.online() {
		domain = `That the signature fits says that nothing was changed since it was signed. It does not say who signed: ask the issuer, by a way you trust, whether the
key on the page is its own.`
	}
	return `WHAT TO EXPECT
` + domain + `
A general verifier may say "issuer not in a known registry" beside a good signature. That is so for every employer who signs for itself, and no fault.
manifest.csv is not signed, and neither is this file: where one differs from a signed file, the signed file counts.
"no longer current" in manifest.csv: the certificate is genuine, but it is over, or the person or the practice does not count today under its rule
set. Why is not told here; ask the employer.
A certificate that was withdrawn after the day of this export is still in it. The check address, or the list that the issuer publishes now, tells.
`
}

func (s selection) notIn() string {
	if len(s.out) == 0 {
		return ""
	}
	out := "NOT IN THIS EXPORT\nThe request meets 1 more, which is not in it:\n"
	if len(s.out) > 1 {
		out = fmt.Sprintf("NOT IN THIS EXPORT\nThe request meets %d more. They are not in it, each for one reason:\n", len(s.out))
	}
	for why := endedReplaced; why <= otherAddress; why++ {
		if text := why.say(s.out); text != "" {
			out += "\n" + text
		}
	}
	return out
}

func beforeRelying() string {
	return "BEFORE YOU RELY ON ANY OF THEM\n" + strings.Join(paper.StandardCautions(), "\n") + "\n"
}
