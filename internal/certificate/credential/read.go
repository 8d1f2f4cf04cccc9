package credential

import (
	"cmp"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"groundhand/internal/groundhand"
	"groundhand/internal/strictjson"
)

// Found is what a signed file says, after its signature held.
type Found struct {
	Credential
	KeyID   string    // Multikey of the key that signed
	Created time.Time // what the signature says of its moment; with a stolen key it can say anything
}

// Documents gives the document of an issuer. An error that is groundhand.CodeNotFound says that nobody knows the issuer; any other is
// handed on.
type Documents func(issuerID string) (Document, error)

// Read checks a signed file and says what was signed: strict JSON, the exact contexts, the one shape that is issued here, one proof, a
// key of the issuer (doc is not asked where the issuer is a key; nil knows no other), and the signature. It refuses with a *Refusal.
//
// It does not judge whether the certificate is current, nor whether it was taken back, nor whether its issuer deserves trust: an issuer
// that is a key vouches for nothing but that the text is unchanged. Of what the shape allows beyond a Credential (identities besides
// the name, results besides the outcome), nothing is shown.
func Read(signed []byte, doc Documents) (Found, error) {
	file, err := open(signed, []string{credentialsV2, openBadges3}, []string{typeCredential, typeBadge})
	if err != nil {
		return Found{}, err
	}
	c, err := shape(file.record)
	if err != nil {
		return Found{}, err
	}
	found := Found{Credential: c}
	found.KeyID, found.Created, err = file.verify(c.IssuerID, doc)
	if err != nil {
		return Found{}, err
	}
	return found, nil
}

// file is a signed file that is sound JSON of the right kind, and not yet believed.
type file struct {
	contexts []string
	record   strictjson.Record // to be read field by field
	document map[string]any    // the same without the proof, for its canonical form
	proof    wireProof
}

func open(signed []byte, contexts, types []string) (file, error) {
	root, members, err := sound(signed)
	if err != nil {
		return file{}, err
	}
	if !same(members["@context"], contexts) || !same(members["type"], types) {
		return file{}, refuse(OtherKind, "The file is not of the kind that is issued here: its contexts or its type are others. A general verifier may know it.")
	}
	if _, is := members["proof"]; !is {
		return file{}, refuse(NotSigned, "The file is not signed: it has no proof, so anybody may have written it.")
	}
	form := strictjson.NewForm()
	f := file{contexts: contexts, record: form.Object("", root), document: members}
	f.record.Value("@context", true, false)
	f.record.Value("type", true, false)
	f.proof = readProof(f.record)
	delete(members, "proof")
	return f, refused(form, nil)
}

// sound reads strict JSON whose texts mean the same everywhere, twice: to be read field by field, and as it goes into the canonical form.
func sound(data []byte) (root any, members map[string]any, err error) {
	if len(data) >= Largest {
		return nil, nil, refuse(NotACredential, "The file is larger than %d kB, which no certificate is.", Largest>>10)
	}
	if !utf8.Valid(data) {
		return nil, nil, refuse(NotACredential, "The file holds bytes that are not UTF-8.")
	}
	if root, err = strictjson.Parse(data); err != nil { // names that occur twice are seen here alone
		return nil, nil, refuse(NotACredential, "The file is not sound JSON: %s", err)
	}
	if err := json.Unmarshal(data, &members); err != nil || members == nil {
		return nil, nil, refuse(NotACredential, "The file is not a JSON object.")
	}
	if fault := unsound(members); fault != "" {
		return nil, nil, refuse(NotACredential, "The file %s, which not all programs read the same.", fault)
	}
	return root, members, nil
}

// unsound finds numbers, nulls and garbled texts: a certificate has none of them.
func unsound(v any) string {
	switch v := v.(type) {
	case string:
		return garbled(v, true)
	case float64:
		return "holds a number"
	case nil:
		return "holds a null"
	case []any:
		for _, item := range v {
			if fault := unsound(item); fault != "" {
				return fault
			}
		}
	case map[string]any:
		for _, name := range slices.Sorted(maps.Keys(v)) {
			if fault := cmp.Or(garbled(name, false), unsound(v[name])); fault != "" {
				return fault
			}
		}
	}
	return ""
}

func same(v any, texts []string) bool {
	list, ok := v.([]any)
	return ok && slices.Equal(list, anyList(texts))
}

// refused is the first fault of the shape or, where it has none, of what it says.
func refused(form *strictjson.Form, check error) error {
	for _, err := range []error{form.Err(), check} {
		if all := groundhand.Refusals(err); len(all) > 0 {
			return refuse(OtherKind, "The file is not of the kind that is issued here; a general verifier may know it. %s", all[0])
		}
	}
	return nil
}

func readProof(r strictjson.Record) wireProof {
	value, path, _ := r.Value("proof", true, false)
	p := r.Object(path, value)
	w := wireProof{p.Text("type"), p.Text("cryptosuite"), p.Text("created"), p.Text("verificationMethod"), p.Text("proofPurpose"), p.Text("proofValue")}
	p.Done()
	if w.Type != proofType || w.Suite != proofSuite || w.Purpose != proofPurpose {
		p.Refuse(path, "The proof is not a %s of the suite %s for %s.", proofType, proofSuite, proofPurpose)
	}
	if _, ok := moment(w.Created); !ok {
		p.Refuse(path+".created", "This is not a moment to the second.")
	}
	return w
}

// verify finds the key and checks the signature.
func (f file) verify(issuer string, doc Documents) (keyID string, created time.Time, err error) {
	created, _ = moment(f.proof.Created)
	keyID, ok := strings.CutPrefix(f.proof.Method, issuer+"#")
	if !ok {
		return "", created, refuse(UnknownKey, "The file is signed with the key of somebody else than its issuer.")
	}
	pub, err := ParseMultikey(keyID)
	if err != nil {
		return "", created, refuse(UnknownKey, "The file is signed with a key that is not an Ed25519 Multikey.")
	}
	if err := belongs(keyID, issuer, doc); err != nil {
		return "", created, err
	}
	options, err := f.proof.options(f.contexts)
	if err != nil {
		return "", created, err
	}
	data, err := ours().digest(f.document, options)
	if err != nil {
		return "", created, refuse(OtherKind, "The file says something in terms that are not issued here: %v.", err)
	}
	signature, ok := decode58(f.proof.Value, ed25519.SignatureSize)
	if !ok || len(signature) != ed25519.SignatureSize || !ed25519.Verify(pub, data, signature) {
		return "", created, refuse(Changed, "The signature does not fit what the file says: it was changed after it was signed.")
	}
	return keyID, created, nil
}

// belongs checks that a key is one of its issuer's.
func belongs(keyID, issuer string, doc Documents) error {
	document, err := documentOf(issuer, doc)
	if err != nil {
		return err
	}
	if !slices.Contains(document.Keys, keyID) {
		return refuse(UnknownKey, "The file is signed with the key %s, which is not among those of its issuer: it may have been stolen and taken out.", keyID)
	}
	return nil
}

// documentOf is what an issuer says of its keys; one that is a key says it by its id.
func documentOf(issuer string, doc Documents) (Document, error) {
	if key, ok := strings.CutPrefix(issuer, keyMethod); ok {
		return Document{issuer, []string{key}}, nil
	}
	unknown := refuse(UnknownIssuer, "The keys of the issuer %s are not known here.", issuer)
	if doc == nil {
		return Document{}, unknown
	}
	document, err := doc(issuer)
	if errors.Is(err, groundhand.CodeNotFound) || err == nil && document.ID != issuer {
		return Document{}, unknown
	}
	return document, err
}
