package certificate

import (
	"context"
	"fmt"
	"strings"

	"groundhand/internal/groundhand"
)

// leftOut is a certificate that a filter meets and that does not go out.
type leftOut struct {
	number groundhand.CertificateID
	why    whyLeftOut
	day    groundhand.Date // of its end
}

type whyLeftOut int

// The reasons, in the order in which they are told.
const (
	endedReplaced whyLeftOut = iota
	endedWithdrawn
	neverSigned
	namesErased
	otherAddress
)

// split parts what goes out from what does not.
func (c *Issuer) split(ctx context.Context, certs []groundhand.Certificate) (in []groundhand.Certificate, out []leftOut, err error) {
	ended, err := c.ended(ctx, certs)
	if err != nil {
		return nil, nil, err
	}
	for _, cert := range certs {
		e, over := ended[cert.ID]
		switch {
		case over && e.Replaced:
			out = append(out, leftOut{cert.ID, endedReplaced, c.dayAt(e.At)})
		case over:
			out = append(out, leftOut{cert.ID, endedWithdrawn, c.dayAt(e.At)})
		case cert.Signed == "":
			out = append(out, leftOut{cert.ID, neverSigned, 0})
		case !isSigned(cert):
			out = append(out, leftOut{cert.ID, namesErased, 0})
		case !c.published(cert):
			out = append(out, leftOut{cert.ID, otherAddress, 0})
		default:
			in = append(in, cert)
		}
	}
	return in, out, nil
}

// published says whether the document and the list that a certificate names can be given: those of another public address cannot.
func (c *Issuer) published(cert groundhand.Certificate) bool {
	return cert.StatusList == 0 || cert.CheckAddress == c.checkAddress(cert.CredentialID)
}

// say puts each reason into words, with the numbers it concerns.
func (w whyLeftOut) say(left []leftOut) string {
	var numbers []string
	for _, l := range left {
		if l.why != w {
			continue
		}
		text := string(l.number)
		if l.day != 0 {
			text = fmt.Sprintf("%s (on %s)", l.number, l.day.Words())
		}
		numbers = append(numbers, text)
	}
	if len(numbers) == 0 {
		return ""
	}
	return leftOutWords[w] + "\n" + wrapped(numbers)
}

// leftOutWords fit one number and many.
var leftOutWords = map[whyLeftOut]string{
	endedReplaced:  "Replaced by another certificate, which is in this export if the request meets it:",
	endedWithdrawn: "Withdrawn for good:",
	neverSigned: "Issued before certificates were signed, so nobody can check it; have it replaced by a signed one (replaceCertificate, or ask the training\n" +
		"coordinator), then export again:",
	namesErased:  "The name on it was erased, so it cannot be given out:",
	otherAddress: "Issued under another public address, whose status list cannot be given here; have it replaced, then export again:",
}

// wrapped lists numbers in lines of a width that everybody can read.
func wrapped(numbers []string) string {
	const width = 100
	lines, line := []string{}, " "
	for i, n := range numbers {
		if i < len(numbers)-1 {
			n += ","
		}
		if len(line)+1+len(n) > width {
			lines, line = append(lines, line), " "
		}
		line += " " + n
	}
	return strings.Join(append(lines, line), "\n") + "\n"
}
