package credential

import (
	"crypto/sha256"
	"fmt"
	"strconv"
	"strings"
)

// The words of the standards that stand in every file of ours.
const (
	typeCredential = "VerifiableCredential"
	typeBadge      = "OpenBadgeCredential"
	typeStatus     = "BitstringStatusListEntry"
	typeProfile    = "Profile"
	typeSubject    = "AchievementSubject"
	typeIdentity   = "IdentityObject"
	typeTraining   = "Achievement"
	typeAlignment  = "Alignment"
	typeOutcome    = "ResultDescription"
	typeResult     = "Result"

	purposeRevocation = "revocation"
	identityName      = "name" // listed by the model of Open Badges 3.0; an older guide writes ext:name
	outcomeName       = "Outcome"
	outcomeKind       = "Status"
)

// The file as it is written. @context, type and id come first: a streaming reader loses what it has read of a node when they come late.
type wireCredential struct {
	Context    []string    `json:"@context"`
	Type       []string    `json:"type"`
	ID         string      `json:"id"`
	Name       string      `json:"name"`
	Issuer     wireProfile `json:"issuer"`
	ValidFrom  string      `json:"validFrom"`
	ValidUntil string      `json:"validUntil,omitempty"`
	Status     *wireStatus `json:"credentialStatus,omitempty"`
	Subject    wireSubject `json:"credentialSubject"`
	Proof      *wireProof  `json:"proof,omitempty"`
}

type wireProfile struct {
	Type []string `json:"type"`
	ID   string   `json:"id"`
	Name string   `json:"name"`
	URL  string   `json:"url,omitempty"`
}

type wireStatus struct {
	Type    string `json:"type"`
	ID      string `json:"id"`
	Purpose string `json:"statusPurpose"`
	Index   string `json:"statusListIndex"` // a number as text: no JSON number stands in any file of ours
	List    string `json:"statusListCredential"`
}

type wireSubject struct {
	Type        []string        `json:"type"`
	Identifier  []wireIdentity  `json:"identifier"`
	Number      string          `json:"licenseNumber"`
	Start       string          `json:"activityStartDate"`
	End         string          `json:"activityEndDate"`
	Role        string          `json:"role,omitempty"`
	Source      *wireProfile    `json:"source,omitempty"`
	Achievement wireAchievement `json:"achievement"`
	Result      []wireResult    `json:"result"`
}

type wireIdentity struct {
	Type   string `json:"type"`
	Hashed bool   `json:"hashed"`
	Hash   string `json:"identityHash"`
	Kind   string `json:"identityType"`
}

type wireAchievement struct {
	Type        []string        `json:"type"`
	ID          string          `json:"id"`
	Kind        string          `json:"achievementType"`
	Name        string          `json:"name"`
	Description string          `json:"description"`
	Code        string          `json:"humanCode,omitempty"`
	Version     string          `json:"version,omitempty"`
	Criteria    wireCriteria    `json:"criteria"`
	Alignment   []wireAlignment `json:"alignment,omitempty"`
	Outcomes    []wireOutcome   `json:"resultDescription"`
}

type wireCriteria struct {
	Narrative string `json:"narrative"`
}

type wireAlignment struct {
	Type      []string `json:"type"`
	Name      string   `json:"targetName"`
	Framework string   `json:"targetFramework,omitempty"`
	Code      string   `json:"targetCode,omitempty"`
	URL       string   `json:"targetUrl"`
}

type wireOutcome struct {
	Type []string `json:"type"`
	ID   string   `json:"id"`
	Name string   `json:"name"`
	Kind string   `json:"resultType"`
}

type wireResult struct {
	Type    []string `json:"type"`
	Outcome string   `json:"resultDescription"`
	Status  string   `json:"status"`
}

// wire puts a checked credential into the form of its file.
func (c Credential) wire() wireCredential {
	w := wireCredential{
		Context: []string{credentialsV2, openBadges3}, Type: []string{typeCredential, typeBadge}, ID: c.ID, Name: c.Name,
		Issuer:    wireProfile{[]string{typeProfile}, c.IssuerID, c.IssuerName, c.IssuerURL},
		ValidFrom: stamp(c.ValidFrom),
		Subject: wireSubject{
			Type:       []string{typeSubject},
			Identifier: []wireIdentity{{typeIdentity, false, c.Person, identityName}},
			Number:     c.Number, Start: stamp(c.ShownFrom), End: stamp(c.ShownThrough), Role: c.Role,
			Achievement: c.Achievement.wire(c.OutcomeID),
			Result:      []wireResult{{[]string{typeResult}, c.OutcomeID, c.Outcome}},
		},
	}
	if !c.ValidUntil.IsZero() {
		w.ValidUntil = stamp(c.ValidUntil)
	}
	if c.Status != nil {
		w.Status = &wireStatus{typeStatus, c.Status.entry(), purposeRevocation, strconv.Itoa(c.Status.Index), c.Status.List}
	}
	if c.Assessor != "" {
		w.Subject.Source = &wireProfile{Type: []string{typeProfile}, ID: sourceID(c.ID), Name: c.Assessor}
	}
	return w
}

func (a Achievement) wire(outcome string) wireAchievement {
	w := wireAchievement{
		Type: []string{typeTraining}, ID: a.ID, Kind: a.Type, Name: a.Name, Description: a.Description, Code: a.Code, Version: a.Version,
		Criteria: wireCriteria{a.Criteria},
		Outcomes: []wireOutcome{{[]string{typeOutcome}, outcome, outcomeName, outcomeKind}},
	}
	for _, rule := range a.Alignment {
		w.Alignment = append(w.Alignment, wireAlignment{[]string{typeAlignment}, rule.Name, rule.Framework, rule.Code, rule.URL})
	}
	return w
}

func (s Status) entry() string { return s.List + "#" + strconv.Itoa(s.Index) }

// sourceID is the id that Open Badges wants of the assessor's profile. It is made of the credential's own id (a UUID of version 8,
// RFC 9562 section 5.8), so that certificates of the same assessor cannot be told by it.
func sourceID(credential string) string {
	sum := sha256.Sum256([]byte("assessor of " + strings.TrimPrefix(credential, "urn:uuid:")))
	b := sum[:16]
	b[6], b[8] = b[6]&0x0f|0x80, b[8]&0x3f|0x80
	return fmt.Sprintf("urn:uuid:%x-%x-%x-%x-%x", b[:4], b[4:6], b[6:8], b[8:10], b[10:])
}
