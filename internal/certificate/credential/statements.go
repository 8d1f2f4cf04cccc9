package credential

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/piprate/json-gold/ld"
)

const (
	rdfType   = "http://www.w3.org/1999/02/22-rdf-syntax-ns#type"
	xsdString = "http://www.w3.org/2001/XMLSchema#string"
)

// statements are what an expanded document says. The library has a way to gather them too, but it leaves out without a word what it
// takes for a bad address, and what is left out is shown and not signed. Here every member becomes a statement or is refused; relative
// ids and unknown types, which the library's safe mode lets pass, are refused as well.
type statements struct {
	iris  map[string]bool // terms, types and datatypes that mean something
	quads []*ld.Quad
	seen  map[[3]ld.Node]bool // what was said already: statements are a set
	blank int
}

// node states what an object of an expanded document says, and gives what others call it by.
func (s *statements) node(v any) (ld.Node, error) {
	members, ok := v.(map[string]any)
	if !ok {
		return nil, fmt.Errorf("%v is not an object", v)
	}
	subject, err := s.name(members)
	if err != nil {
		return nil, err
	}
	for _, term := range slices.Sorted(maps.Keys(members)) {
		values, _ := members[term].([]any)
		for _, value := range values {
			if err := s.member(subject, term, value); err != nil {
				return nil, err
			}
		}
		if term != "@id" && len(values) == 0 {
			return nil, fmt.Errorf("the term %q says nothing", term)
		}
	}
	return subject, nil
}

// name is the id of an object, or one of our making.
func (s *statements) name(members map[string]any) (ld.Node, error) {
	id, has := members["@id"]
	if !has {
		s.blank++
		return ld.NewBlankNode("_:b" + strconv.Itoa(s.blank)), nil
	}
	iri, _ := id.(string)
	if !absolute(iri) {
		return nil, fmt.Errorf("the id %q is not absolute", iri)
	}
	return ld.NewIRI(iri), nil
}

func (s *statements) member(subject ld.Node, term string, value any) error {
	if term == "@type" {
		iri, _ := value.(string)
		if !s.iris[iri] || !absolute(iri) {
			return fmt.Errorf("the type %q is not one of ours", iri)
		}
		s.say(subject, rdfType, ld.NewIRI(iri))
		return nil
	}
	if !s.iris[term] || !absolute(term) {
		return fmt.Errorf("the term %q is not one of ours", term)
	}
	object, err := s.object(value)
	if err == nil {
		s.say(subject, term, object)
	}
	return err
}

// object is a text with its datatype, or another object.
func (s *statements) object(value any) (ld.Node, error) {
	members, _ := value.(map[string]any)
	v, literal := members["@value"]
	if !literal {
		return s.node(value)
	}
	datatype, typed := members["@type"].(string)
	if len(members) > 2 || len(members) == 2 && (!typed || !s.iris[datatype] || !absolute(datatype)) {
		return nil, fmt.Errorf("the value %v is not a plain one", members)
	}
	switch v := v.(type) {
	case string:
		if !typed {
			datatype = xsdString
		}
		return ld.NewLiteral(v, datatype, ""), nil
	case bool:
		if typed { // ours all say which kind of yes and no they are
			return ld.NewLiteral(strconv.FormatBool(v), datatype, ""), nil
		}
	}
	return nil, fmt.Errorf("%v is neither a text nor yes or no", v)
}

func (s *statements) say(subject ld.Node, term string, object ld.Node) {
	said := [3]ld.Node{subject, ld.NewIRI(term), object}
	if !s.seen[said] {
		s.seen[said] = true
		s.quads = append(s.quads, ld.NewQuad(said[0], said[1], said[2], ""))
	}
}

// absolute says whether an IRI stands for the same everywhere. It goes into the canonical form without any escaping, so one that could
// end a statement and begin another is none.
func absolute(iri string) bool {
	scheme, rest, ok := strings.Cut(iri, ":")
	return ok && scheme != "" && scheme != "_" && scheme[0] != '@' && rest != "" && !strings.ContainsAny(iri, " <>\"{}|\\^`\n\r\t")
}
