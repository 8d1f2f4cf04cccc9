package credential

import (
	"bytes"
	"compress/gzip"
	"crypto/ed25519"
	"encoding/base64"
	"io"
	"slices"
	"strings"
	"time"

	"groundhand/internal/strictjson"
)

// ListLength is how many entries a status list has: the least that the standard allows, so that an entry hides among many (Bitstring
// Status List 1.0).
const ListLength = 131072

const (
	typeStatusList     = "BitstringStatusListCredential"
	typeStatusBits     = "BitstringStatusList"
	multibaseBase64URL = "u"
)

// StatusList says which certificates of one list were taken back. It is published whole, so the issuer does not learn who is looked up.
type StatusList struct {
	ID       string    // https address
	IssuerID string    // the same as that of its certificates
	From     time.Time // whole seconds
	Until    time.Time // from then on it tells nothing, and neither do the certificates in it
	Set      []int     // entries taken back, each 0 to ListLength-1; ascending where it was read
}

type wireList struct {
	Context []string   `json:"@context"`
	Type    []string   `json:"type"`
	ID      string     `json:"id"`
	Issuer  string     `json:"issuer"`
	From    string     `json:"validFrom"`
	Until   string     `json:"validUntil"`
	Subject wireBits   `json:"credentialSubject"`
	Proof   *wireProof `json:"proof,omitempty"`
}

type wireBits struct {
	Type    string `json:"type"`
	ID      string `json:"id"`
	Purpose string `json:"statusPurpose"`
	Encoded string `json:"encodedList"`
}

// Check refuses what cannot be signed, all at once, as groundhand.Errors with the path of each field.
func (l StatusList) Check() error {
	var p problems
	p.address("id", l.ID, false)
	p.match("issuerId", l.IssuerID, issuerID.MatchString(l.IssuerID), "a did or an https address without a fragment")
	p.period("from", l.From, "until", l.Until, false)
	for _, n := range l.Set {
		if n < 0 || n >= ListLength {
			p.refuse("set", "%d is not between 0 and %d.", n, ListLength-1)
		}
	}
	return p.Err()
}

// SignStatusList makes the file of a status list: compact JSON without a final line feed, the same bytes for the same input.
func SignStatusList(l StatusList, key ed25519.PrivateKey, created time.Time) ([]byte, error) {
	var p problems
	_ = p.Take("", l.Check())
	p.signature(l.IssuerID, key, created)
	if p.Any() {
		return nil, p.Err()
	}
	w := wireList{Context: []string{credentialsV2}, Type: []string{typeCredential, typeStatusList}, ID: l.ID, Issuer: l.IssuerID,
		From: stamp(l.From), Until: stamp(l.Until), Subject: wireBits{typeStatusBits, l.ID + "#list", purposeRevocation, encodeBits(l.Set)}}
	return seal(&w, &w.Proof, w.Context, l.IssuerID, key, created)
}

// ReadStatusList checks a signed list as Read checks a certificate. Whether it still tells something is asked with TakenBack.
func ReadStatusList(signed []byte, doc Documents) (StatusList, error) {
	f, err := open(signed, []string{credentialsV2}, []string{typeCredential, typeStatusList})
	if err != nil {
		return StatusList{}, err
	}
	r := f.record
	l := StatusList{ID: r.Text("id"), IssuerID: r.Text("issuer"), From: readMoment(r, "validFrom", true), Until: readMoment(r, "validUntil", true)}
	part(r, "credentialSubject", true, typeStatusBits, l.readBits)
	r.Done()
	if err := refused(r.Form, l.Check()); err != nil {
		return StatusList{}, err
	}
	if _, _, err := f.verify(l.IssuerID, doc); err != nil {
		return StatusList{}, err
	}
	return l, nil
}

func (l *StatusList) readBits(r strictjson.Record) {
	if id := r.Text("id"); id != l.ID+"#list" {
		r.Refuse("credentialSubject.id", "This is not the list of this file.")
	}
	if purpose := r.Text("statusPurpose"); purpose != purposeRevocation {
		r.Refuse("credentialSubject.statusPurpose", "A list is read for %s alone.", purposeRevocation)
	}
	set, ok := decodeBits(r.Text("encodedList"))
	if !ok {
		r.Refuse("credentialSubject.encodedList", "This is not a list of %d entries.", ListLength)
	}
	l.Set = set
}

// TakenBack says whether a credential was taken back, as the list says of a moment. A list that was made after that moment is as good,
// because nothing that was taken back comes back. It refuses with OtherKind what is not in this list, and with RunOut a list that ended
// before: not knowing is not the same as not taken back.
func (l StatusList) TakenBack(c Credential, at time.Time) (bool, error) {
	if c.Status == nil || c.Status.List != l.ID || c.IssuerID != l.IssuerID {
		return false, refuse(OtherKind, "The status list %s is not the one that the certificate names.", l.ID)
	}
	if at.After(l.Until) {
		return false, refuse(RunOut, "The status list ran out on %s; get the one of today.", stamp(l.Until))
	}
	return slices.Contains(l.Set, c.Status.Index), nil
}

// encodeBits writes the list: the first entry is the left-most bit of the first byte (sections 2.2 and 3.3), then gzip, then base64url.
func encodeBits(set []int) string {
	bits := make([]byte, ListLength/8)
	for _, n := range set {
		bits[n/8] |= 0x80 >> (n % 8)
	}
	var buf bytes.Buffer
	zip := gzip.NewWriter(&buf) // no name and no time in its header, so the same list gives the same bytes
	_, _ = zip.Write(bits)      // a buffer takes everything
	_ = zip.Close()
	return multibaseBase64URL + base64.RawURLEncoding.EncodeToString(buf.Bytes())
}

// decodeBits reads a list of exactly our length, unpacking no more than that.
func decodeBits(text string) ([]int, bool) {
	digits, ok := strings.CutPrefix(text, multibaseBase64URL)
	if !ok {
		return nil, false
	}
	packed, err := base64.RawURLEncoding.Strict().DecodeString(digits)
	if err != nil {
		return nil, false
	}
	rest := bytes.NewReader(packed)
	zip, err := gzip.NewReader(rest)
	if err != nil {
		return nil, false
	}
	zip.Multistream(false)
	bits, err := io.ReadAll(io.LimitReader(zip, ListLength/8+1))
	if err != nil || len(bits) != ListLength/8 || rest.Len() > 0 {
		return nil, false
	}
	var set []int
	for n := range ListLength {
		if bits[n/8]&(0x80>>(n%8)) != 0 {
			set = append(set, n)
		}
	}
	return set, true
}
