package credential

import (
	"encoding/json"
	"slices"
	"unicode/utf8"

	"groundhand/internal/groundhand"
	"groundhand/internal/strictjson"
)

// largestDocument is the size in bytes from which on a widely used resolver of did:web reads no further.
const largestDocument = 8 << 10

// Document is what an issuer says of its keys: the file did.json.
type Document struct {
	ID   string   // issuer id
	Keys []string // Multikeys that may sign certificates, or once did. One that was stolen is taken out
}

type wireDocument struct {
	Context   []string     `json:"@context"`
	ID        string       `json:"id"`
	Methods   []wireMethod `json:"verificationMethod"`
	Assertion []string     `json:"assertionMethod"`
}

type wireMethod struct {
	ID         string `json:"id"`
	Type       string `json:"type"`
	Controller string `json:"controller"`
	Key        string `json:"publicKeyMultibase"`
}

const typeMultikey = "Multikey"

// WriteDocument makes did.json. A key is retired by leaving it in: its certificates shall still verify, and a date of revocation would
// make verifiers refuse them all (W3C Controlled Identifiers 1.0). With too many keys it refuses as CodeTooLarge.
func WriteDocument(d Document) ([]byte, error) {
	var p problems
	p.match("id", d.ID, issuerID.MatchString(d.ID), "a did or an https address without a fragment")
	w := wireDocument{Context: []string{"https://www.w3.org/ns/did/v1", "https://w3id.org/security/multikey/v1"}, ID: d.ID,
		Methods: []wireMethod{}, Assertion: []string{}}
	for i, key := range d.Keys {
		if _, err := ParseMultikey(key); err != nil {
			_ = p.Take("keys", err)
		} else if slices.Contains(d.Keys[:i], key) {
			p.refuse("keys", "The key %s stands there twice.", key)
		}
		w.Methods = append(w.Methods, wireMethod{d.ID + "#" + key, typeMultikey, d.ID, key})
		w.Assertion = append(w.Assertion, d.ID+"#"+key)
	}
	if p.Any() {
		return nil, p.Err()
	}
	data, err := encode(w)
	if err == nil && len(data) >= largestDocument {
		return nil, &groundhand.Error{Code: groundhand.CodeTooLarge, Field: "keys",
			Message: "The document of the issuer would be larger than the 8 kB that are read elsewhere; leave out keys whose certificates have all run out."}
	}
	return data, err
}

// ReadDocument reads a document of keys, ours or somebody else's: those that are whole, belong to the issuer and may sign. Members and
// keys of other kinds are passed over; a key with a day of revocation or of running out is one of them, because verifiers differ there.
func ReadDocument(data []byte) (Document, error) {
	if len(data) >= largestDocument {
		return Document{}, &groundhand.Error{Code: groundhand.CodeTooLarge, Message: "The document of an issuer's keys is smaller than 8 kB."}
	}
	if _, err := strictjson.Parse(data); err != nil { // names that occur twice are seen here alone
		return Document{}, err
	}
	var members map[string]any
	err := json.Unmarshal(data, &members)
	id, _ := members["id"].(string)
	if err != nil || !utf8.Valid(data) || !issuerID.MatchString(id) {
		return Document{}, groundhand.Invalid("", "This is not the document of an issuer's keys.")
	}
	d := Document{ID: id}
	signing, _ := members["assertionMethod"].([]any)
	methods, _ := members["verificationMethod"].([]any)
	for _, m := range methods {
		if key, ok := d.key(m); ok && slices.Contains(signing, any(id+"#"+key)) && !slices.Contains(d.Keys, key) {
			d.Keys = append(d.Keys, key)
		}
	}
	return d, nil
}

// key reads one verification method of the document.
func (d Document) key(method any) (string, bool) {
	m, _ := method.(map[string]any)
	key, _ := m["publicKeyMultibase"].(string)
	_, err := ParseMultikey(key)
	ends := m["revoked"] != nil || m["expires"] != nil
	return key, err == nil && !ends && m["id"] == d.ID+"#"+key && m["type"] == typeMultikey && m["controller"] == d.ID
}
