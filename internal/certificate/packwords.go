package certificate

import (
	"fmt"
	"strings"
)

// packCautions stand on every page of the list of people.
func packCautions() []string {
	return []string{
		"This is the employer's own record of practice under the rule set named, for the day named, as known on the day named. It is no licence and is not accredited.",
		"It says nothing of who is at work on a day, of a crew as a whole, of the device or of the kit, and it may change after the day on which it was made: check each certificate at the address on it.",
		"Local rules, the makers' instructions and licensed practice come first. It does not say that a law is met.",
	}
}

// about says what a pack is.
func (p pack) about() string {
	return fmt.Sprintf(`NAMED PEOPLE UNDER A RULE SET
Given out by %s on %s. People: %d. Under the rules %q on %s.

people.pdf         the list of the people, for reading and printing
people.csv         the same for a spreadsheet, a row for each thing that the rules ask
export/            the certificates, and in its own README.txt how to check one or all of them. Certificates: %d.

"good"             current under these rules on that day, through 24:00 local time of the last good day; nothing else is good
"not good"         with one reason. "not current at present: ask the employer": the employer tells why, this list does not
"no certificate issued"
                   good by the record, and no certificate under these rules says so: ask the employer what it rests on
Certificates that are valid today are in this pack. Where one is named whose file is not, the list says so; ask the employer.
A certificate as lead rescuer stands beside a line for the second rescuer too: who leads can be second.

BEFORE YOU RELY ON IT
%s
`, p.name, p.day.Words(), len(p.people), p.list.Rules, p.question.On.Words(), len(p.in), strings.Join(packCautions(), "\n"))
}
