package paper

import "groundhand/internal/groundhand"

// Longest texts that are looked at, in characters. A text inside these bounds is still refused when it does not fit its place on the page.
const (
	maxText    = 300
	maxCaution = 400
	maxAddress = 200 // so that its QR code stays coarse enough for a photocopy
)

// Most rows of a kind that are looked at.
const (
	maxFacts    = 8
	maxCautions = 6
)

// Fact is one row of the page: a label, and beside it what it stands for. Both are filled.
type Fact struct{ Label, Text string }

// Sheet is what one page says: the signed credential in the words that stand in it, and nothing that is known from elsewhere. So a page
// never tells whether its certificate stands today; the check address does.
type Sheet struct {
	Number       string          // certificate number; also names the attached file: letters, digits, dot, dash, underscore
	Person       string          // the name as signed; no other personal fact is printed
	Employer     string          // who issued it, whose record this is
	Title        string          // what was shown, in words: "Bucket rescue, two on the ground", never a code
	Practice     []Fact          // what had to be shown: role, control family, how it was shown
	ShownOn      groundhand.Date // local day of the practice
	Assessor     string          // who watched it; empty when that is not recorded
	LastGoodDay  groundhand.Date // good through 24:00 local time of this day
	Rules        []Fact          // by which rules the last good day was reckoned
	IssuedOn     groundhand.Date // also the date inside the PDF
	Cautions     []string        // sentences that keep the paper from being taken for more than it is
	CheckAddress string          // https address ending in the credential's id, also in the QR code; empty: it can't be checked by address
	CredentialID string          // UUID of the credential, lower case
	KeyID        string          // Multikey of the Ed25519 key that signed it
	Signed       []byte          // the signed credential, attached byte for byte
}

// StandardCautions are the sentences that every certificate of ours carries in its signed text, and so on its page.
func StandardCautions() []string {
	return []string{
		"This is the employer's own record that the person named was seen doing the practice named on that day. It is no licence and is not accredited.",
		"It holds only for the method, the role and the control family named, and only under the rule set named. Another, such as a client's, may end it sooner.",
		"It does not say that the person, the crew, the device or the kit is fit for today's job. Local rules, the makers' instructions and licensed practice come first.",
	}
}

// Check says whether the sheet can be printed whole and says nothing that its signed file does not. All problems come at once as
// groundhand.Errors of code INVALID, each with the field's path ("person", "practice[0].text"). A character that cannot be set right is a
// problem: a box or a blank in a name is worse than none.
func Check(s Sheet) error {
	_, err := setPage(s)
	return err
}

func setPage(s Sheet) (*page, error) {
	var p groundhand.Problems
	checkTexts(&p, s)
	checkNumber(&p, s.Number)
	checkAddress(&p, s)
	checkDays(&p, s)
	checkIDs(&p, s)
	checkSigned(&p, s)
	if p.Any() {
		return nil, p.Err()
	}
	return compose(s)
}
