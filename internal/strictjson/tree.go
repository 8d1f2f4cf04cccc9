package strictjson

import (
	"bytes"
	"encoding/json"
	"io"
	"strconv"

	"groundhand/internal/groundhand"
)

// deepest is how far JSON may nest; the formats need 5.
const deepest = 16

// object is a JSON object in which every name occurs once.
type object map[string]any

// Parse reads one JSON value, refusing repeated names, deep nesting and anything after it: encoding/json would let the last of
// two equal names win silently. A Form reads what it gives field by field.
func Parse(data []byte) (any, error) {
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	v, err := parseValue(dec, "", 0)
	if err != nil {
		return nil, err
	}
	if _, err := dec.Token(); err != io.EOF {
		return nil, groundhand.Invalid("", "Something follows after the end of the JSON value; remove it.")
	}
	return v, nil
}

func parseValue(dec *json.Decoder, path string, depth int) (any, error) {
	tok, err := dec.Token()
	if err != nil {
		return nil, groundhand.Invalid(path, "This is not JSON at byte %d: %v.", dec.InputOffset(), err)
	}
	delim, ok := tok.(json.Delim)
	if !ok {
		return tok, nil
	}
	if depth == deepest {
		return nil, groundhand.Invalid(path, "This nests deeper than the format does.")
	}
	if delim == '[' {
		return parseList(dec, path, depth)
	}
	return parseObject(dec, path, depth)
}

func parseList(dec *json.Decoder, path string, depth int) (any, error) {
	list := []any{}
	for dec.More() {
		v, err := parseValue(dec, Item(path, len(list)), depth+1)
		if err != nil {
			return nil, err
		}
		list = append(list, v)
	}
	return list, closeDelim(dec, path)
}

func parseObject(dec *json.Decoder, path string, depth int) (any, error) {
	obj := object{}
	for dec.More() {
		tok, err := dec.Token()
		name, ok := tok.(string)
		if err != nil || !ok {
			return nil, groundhand.Invalid(path, "This is not JSON at byte %d.", dec.InputOffset())
		}
		if _, twice := obj[name]; twice {
			return nil, groundhand.Invalid(Join(path, name), "The name occurs twice; keep one.")
		}
		if obj[name], err = parseValue(dec, Join(path, name), depth+1); err != nil {
			return nil, err
		}
	}
	return obj, closeDelim(dec, path)
}

func closeDelim(dec *json.Decoder, path string) error {
	if _, err := dec.Token(); err != nil {
		return groundhand.Invalid(path, "This is not JSON at byte %d: %v.", dec.InputOffset(), err)
	}
	return nil
}

// Join is the path of a field below another.
func Join(path, name string) string {
	if path == "" {
		return name
	}
	return path + "." + name
}

func Item(path string, i int) string { return path + "[" + strconv.Itoa(i) + "]" }
