package certificate

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
)

// This file alone knows how a certificate becomes a credential: every word that is ever read on one is put together here, once, as of the
// moment of issue. Paper shows the lines "Label: text" of the criteria and the description as rows, so what a page says was signed.

// achievementTypes are those of Open Badges 3.0, AchievementType: a pass with a last good day, and a drill taken part in.
var achievementTypes = map[groundhand.EvidenceKind]string{
	groundhand.PassedAssessment: credential.TypePassed, groundhand.PracticeRun: credential.TypePractised,
}

// credentialOf puts a certificate into the words of a credential. The certificate has its number, credential id, issuer and place in a list.
func (b book) credentialOf(cert groundhand.Certificate, from time.Time, zone *time.Location, address string) (credential.Credential, error) {
	rule, err := b.lastGoodDayRule(cert)
	if err != nil {
		return credential.Credential{}, err
	}
	achievement := nameBased("achievement", cert.IssuerID, string(cert.EvidenceKind), string(cert.Method), string(cert.FamilyID), string(cert.Role), string(cert.RuleSetID))
	title := methodWords[cert.Method]
	out := credential.Credential{
		ID: urn + cert.CredentialID, Name: title, IssuerID: cert.IssuerID, IssuerName: cert.Issuer,
		ValidFrom: from.In(zone).Truncate(time.Second), ValidUntil: lastSecond(cert.LastGoodDay, zone),
		Person: cert.PersonName, Number: string(cert.ID),
		ShownFrom: cert.ShownOn.Start(zone), ShownThrough: lastSecond(cert.ShownOn, zone),
		Role: roleWords[cert.Role], Assessor: cert.AssessorName,
		Achievement: credential.Achievement{
			ID: achievement, Type: achievementTypes[cert.EvidenceKind], Name: title, Code: string(cert.Method), Version: string(cert.RuleSetID),
			Criteria: lines([][2]string{
				{"Rescue method", title}, {"Role practised", roleWords[cert.Role]}, {"Control family", familyWords(b.families, cert.FamilyID)},
				{"How shown", shownWords[cert.EvidenceKind]},
			}),
			Description: lines(b.description(cert, rule)),
		},
		OutcomeID: nameBased("outcome", achievement), Outcome: credential.Completed,
	}
	if address != "" {
		out.IssuerURL = address + "/"
		out.Status = &credential.Status{List: listAddress(address, cert.StatusList), Index: cert.StatusIndex}
	}
	return out, nil
}

const (
	urn      = "urn:uuid:"
	cautions = "Caution"
)

func (b book) description(cert groundhand.Certificate, rule string) [][2]string {
	out := [][2]string{
		{"Employer on the day", cert.Employer}, {"Rule set", b.titles[cert.RuleSetID]},
		{"Last good day", cert.LastGoodDay.Words() + ": " + rule},
	}
	if cert.ReplacesID != "" {
		out = append(out, [2]string{"Issued anew", fmt.Sprintf("%s, in place of %s", cert.HappenedOn.Words(), cert.ReplacesID)})
	}
	for _, caution := range paper.StandardCautions() {
		out = append(out, [2]string{cautions, caution})
	}
	return out
}

func lines(rows [][2]string) string {
	out := make([]string, len(rows))
	for i, row := range rows {
		out[i] = row[0] + ": " + row[1]
	}
	return strings.Join(out, "\n")
}

// lastSecond is the last whole second of a local day. What is signed has whole seconds (CREDENTIALS, rule 3 of the writer).
func lastSecond(d groundhand.Date, zone *time.Location) time.Time {
	return d.End(zone).Add(-time.Second)
}

// listAddress is where a status list is published.
func listAddress(address string, list int) string { return address + "/status/" + strconv.Itoa(list) }

// nameBased makes an identifier out of what it names, so that the same gets the same: a UUID of version 8 over SHA-256 (RFC 9562, sections 5.8
// and B.2).
func nameBased(parts ...string) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%q", parts))
	return urn + uuidOf(sum[:16], 8)
}

// freshID is a UUID of version 4 (RFC 9562, section 5.4): 122 bits of chance.
func freshID(chance io.Reader) (string, error) {
	b := make([]byte, 16)
	if _, err := io.ReadFull(chance, b); err != nil {
		return "", fmt.Errorf("make a credential id: %w", err)
	}
	return uuidOf(b, 4), nil
}

func uuidOf(b []byte, version byte) string {
	b[6], b[8] = b[6]&0x0f|version<<4, b[8]&0x3f|0x80
	h := hex.EncodeToString(b)
	return h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:]
}
