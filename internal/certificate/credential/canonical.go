package credential

import (
	"crypto/sha256"
	_ "embed" // for the contexts
	"encoding/json"
	"fmt"
	"sync"

	"github.com/piprate/json-gold/ld"
)

// The contexts that a credential names, in this order; a status list names the first alone.
const (
	credentialsV2 = "https://www.w3.org/ns/credentials/v2"
	openBadges3   = "https://purl.imsglobal.org/spec/ob/v3p0/context-3.0.3.json"
)

// Both hold the terms we use and no other, so that whatever else stands in a file is refused instead of signed without a meaning.
// Where the official contexts have a term as well, it means the same there; the tests ask programs that read those.
var (
	//go:embed contexts/credentials-v2.json
	credentialsV2Terms []byte
	//go:embed contexts/open-badges-3.json
	openBadges3Terms []byte
)

// vocabulary turns JSON into statements. It reads nothing but the contexts it was made of.
type vocabulary struct {
	contexts map[string]any
	iris     map[string]bool // every term and datatype that the contexts lead to
}

var ours = sync.OnceValue(func() vocabulary {
	return newVocabulary(map[string][]byte{credentialsV2: credentialsV2Terms, openBadges3: openBadges3Terms})
})

func newVocabulary(contexts map[string][]byte) vocabulary {
	v := vocabulary{map[string]any{}, map[string]bool{}}
	for address, data := range contexts {
		var terms any
		if err := json.Unmarshal(data, &terms); err != nil {
			panic(fmt.Sprintf("context %s: %v", address, err)) // they are part of the program
		}
		v.contexts[address] = terms
		v.gather(terms)
	}
	return v
}

func (v vocabulary) gather(terms any) {
	switch terms := terms.(type) {
	case string:
		v.iris[terms] = true
	case map[string]any:
		for _, t := range terms {
			v.gather(t)
		}
	}
}

// LoadDocument gives a context that we know; there is no way from here to a network.
func (v vocabulary) LoadDocument(address string) (*ld.RemoteDocument, error) {
	terms, ok := v.contexts[address]
	if !ok {
		return nil, fmt.Errorf("the context %s is not one of ours", address)
	}
	return &ld.RemoteDocument{DocumentURL: address, Document: terms}, nil
}

// canonical is the RDFC-1.0 form of a JSON-LD document as N-Quads.
func (v vocabulary) canonical(document map[string]any) (string, error) {
	opts := &ld.JsonLdOptions{ProcessingMode: ld.JsonLd_1_1, DocumentLoader: v, SafeMode: true,
		Algorithm: ld.AlgorithmURDNA2015, Format: "application/n-quads"}
	expanded, err := ld.NewJsonLdProcessor().Expand(document, opts)
	if err != nil {
		return "", err
	}
	said := statements{iris: v.iris, seen: map[[3]ld.Node]bool{}}
	for _, node := range expanded {
		if _, err := said.node(node); err != nil {
			return "", err
		}
	}
	if len(said.quads) == 0 {
		return "", fmt.Errorf("the document says nothing")
	}
	dataset := ld.NewRDFDataset()
	dataset.Graphs["@default"] = said.quads
	quads, err := ld.NewJsonLdApi().Normalize(dataset, opts)
	if err != nil {
		return "", err
	}
	return quads.(string), nil // as Format asks for
}

// digest is what eddsa-rdfc-2022 signs: the hash of the proof options, then that of the document (section 3.2 of the suites).
func (v vocabulary) digest(document, options map[string]any) ([]byte, error) {
	var data []byte
	for _, part := range []map[string]any{options, document} {
		text, err := v.canonical(part)
		if err != nil {
			return nil, err
		}
		sum := sha256.Sum256([]byte(text))
		data = append(data, sum[:]...)
	}
	return data, nil
}
