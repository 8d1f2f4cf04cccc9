package credential

import (
	"bytes"
	"crypto/ed25519"
	"encoding/json"
	"strings"
	"time"

	"groundhand/internal/groundhand"
)

// The one kind of proof that is made and read.
const (
	proofType    = "DataIntegrityProof"
	proofSuite   = "eddsa-rdfc-2022"
	proofPurpose = "assertionMethod"
)

type wireProof struct {
	Type    string `json:"type"`
	Suite   string `json:"cryptosuite"`
	Created string `json:"created"`
	Method  string `json:"verificationMethod"`
	Purpose string `json:"proofPurpose"`
	Value   string `json:"proofValue,omitempty"`
}

// Sign makes the file of a certificate: compact JSON without a final line feed, the same bytes for the same input. The proof is dated
// to the second in UTC, and its key id is that of the issuer followed by the Multikey. What cannot be signed is refused all at once as
// groundhand.Errors.
func Sign(c Credential, key ed25519.PrivateKey, created time.Time) ([]byte, error) {
	var p problems
	_ = p.Take("", c.Check())
	p.signature(c.IssuerID, key, created)
	if p.Any() {
		return nil, p.Err()
	}
	w := c.wire()
	return seal(&w, &w.Proof, w.Context, c.IssuerID, key, created)
}

// signature checks what is signed with.
func (p *problems) signature(issuer string, key ed25519.PrivateKey, created time.Time) {
	p.moment("created", created)
	if len(key) != ed25519.PrivateKeySize || !bytes.Equal(ed25519.NewKeyFromSeed(key.Seed()), key) {
		p.refuse("key", "This is not an Ed25519 private key.")
		return
	}
	if pub := key.Public().(ed25519.PublicKey); strings.HasPrefix(issuer, keyMethod) && issuer != KeyIssuer(pub) {
		p.refuse("issuerId", "An issuer that is a key signs with that key alone, and this is another.")
	}
}

// seal signs a file whose proof is still empty, and sets it.
func seal(file any, proof **wireProof, contexts []string, issuer string, key ed25519.PrivateKey, created time.Time) ([]byte, error) {
	w := wireProof{Type: proofType, Suite: proofSuite, Created: stamp(created.UTC()), Purpose: proofPurpose,
		Method: issuer + "#" + Multikey(key.Public().(ed25519.PublicKey))}
	document, err := tree(file)
	if err != nil {
		return nil, err
	}
	options, err := w.options(contexts)
	if err != nil {
		return nil, err
	}
	data, err := ours().digest(document, options)
	if err != nil {
		return nil, err
	}
	w.Value = encode58(ed25519.Sign(key, data))
	*proof = &w
	signed, err := encode(file)
	if err == nil && len(signed) >= Largest {
		return nil, &groundhand.Error{Code: groundhand.CodeTooLarge, Message: "The signed file would be larger than is ever read; shorten its texts."}
	}
	return signed, err
}

// options are what is signed of a proof: all but its value, read with the contexts of the document.
func (w wireProof) options(contexts []string) (map[string]any, error) {
	w.Value = ""
	options, err := tree(w)
	if err != nil {
		return nil, err
	}
	options["@context"] = anyList(contexts)
	return options, nil
}

func anyList(texts []string) []any {
	list := make([]any, len(texts))
	for i, s := range texts {
		list[i] = s
	}
	return list
}

// encode writes compact JSON. Brackets and ampersands stay readable: the file is no part of a web page.
func encode(file any) ([]byte, error) {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(file); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(buf.Bytes(), []byte("\n")), nil
}

// tree is a file as the members and texts that it consists of.
func tree(file any) (map[string]any, error) {
	data, err := encode(file)
	if err != nil {
		return nil, err
	}
	var members map[string]any
	return members, json.Unmarshal(data, &members)
}
