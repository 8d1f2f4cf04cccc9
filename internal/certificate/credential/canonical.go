package credential

import (
	"crypto/sha256"
	_ "embed" // for the contexts
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
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

// canonical is the RDFC-1.0 form of a JSON-LD document as N-Quads. The library's safe mode works while expanding alone, and lets
// unknown types and relative ids pass: what came out is looked through before it is put in order.
func (v vocabulary) canonical(document map[string]any) (string, error) {
	opts := &ld.JsonLdOptions{ProcessingMode: ld.JsonLd_1_1, DocumentLoader: v, SafeMode: true,
		Algorithm: ld.AlgorithmURDNA2015, Format: "application/n-quads"}
	processor := ld.NewJsonLdProcessor()
	expanded, err := processor.Expand(document, opts)
	if err != nil {
		return "", err
	}
	if err := v.meaningful(expanded); err != nil {
		return "", err
	}
	quads, err := processor.Normalize(expanded, opts)
	if err != nil {
		return "", err
	}
	text, ok := quads.(string)
	if !ok || text == "" {
		return "", fmt.Errorf("the document says nothing")
	}
	return text, nil
}

// meaningful refuses what would be left out or read otherwise elsewhere: terms that no context has, and ids and types that are relative.
func (v vocabulary) meaningful(node any) error {
	switch node := node.(type) {
	case []any:
		for _, item := range node {
			if err := v.meaningful(item); err != nil {
				return err
			}
		}
	case map[string]any:
		for _, name := range slices.Sorted(maps.Keys(node)) {
			if err := v.member(name, node[name]); err != nil {
				return err
			}
		}
	}
	return nil
}

func (v vocabulary) member(name string, value any) error {
	switch name {
	case "@value":
		return nil
	case "@id":
		id, _ := value.(string)
		if !absolute(id) {
			return fmt.Errorf("the id %q is not absolute", id)
		}
		return nil
	case "@type":
		types, ok := value.([]any)
		if !ok {
			types = []any{value} // a datatype stands alone
		}
		for _, t := range types {
			if iri, _ := t.(string); !absolute(iri) || !v.iris[iri] {
				return fmt.Errorf("the type %q is not one of ours", iri)
			}
		}
		return nil
	}
	if !absolute(name) || !v.iris[name] {
		return fmt.Errorf("the term %q is not one of ours", name)
	}
	return v.meaningful(value)
}

func absolute(iri string) bool {
	scheme, rest, ok := strings.Cut(iri, ":")
	return ok && scheme != "" && scheme != "_" && scheme[0] != '@' && rest != "" && !strings.ContainsAny(iri, " <>\"{}|\\^`")
}

// digest is what eddsa-rdfc-2022 signs: the hash of the proof options, then that of the document (section 3.2.4 of the suites).
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
