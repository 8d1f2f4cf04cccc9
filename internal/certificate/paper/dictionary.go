package paper

import (
	"bytes"
	"strconv"
)

// dictionary is the top level of a PDF dictionary: each key with the pieces of its value. What is nested is one piece.
type dictionary map[string][]piece

// piece is a part of a PDF that can't be taken apart further, or a nested array or dictionary as a whole.
type piece struct {
	kind kind
	text string
}

type kind int

const (
	broken kind = iota
	name        // text without its slash
	word        // number, true, R …
	nested      // text is what is between the brackets
	other       // text in parentheses or in hexadecimal
)

const (
	maxKeys  = 64 // keys of a dictionary; a larger one is none of those that are looked for
	maxDepth = 32 // of nesting
	maxWord  = 128
)

func (d dictionary) has(key string) bool { return len(d[key]) > 0 }

// is says that the value is one name, or an array of that one name.
func (d dictionary) is(key, want string) bool {
	v := d[key]
	return len(v) == 1 && (v[0] == piece{name, want} || v[0] == piece{nested, "/" + want})
}

// number is a value that is one whole number and not a reference to one.
func (d dictionary) number(key string) (int, bool) {
	v := d[key]
	if len(v) != 1 || v[0].kind != word {
		return 0, false
	}
	n, err := strconv.Atoi(v[0].text)
	return n, err == nil && n >= 0
}

// readDictionary reads the dictionary that begins at from, after blanks, and says up to where it read. Where there is none, or one that is
// broken or out of bounds, it is nil. Whoever goes on from that end reads nothing twice; like that the work stays in proportion to the file,
// whatever is in it. The same holds for all that is called here.
func readDictionary(pdf []byte, from int) (dictionary, int) {
	at := skipBlank(pdf, from)
	if !bytes.HasPrefix(pdf[at:], []byte("<<")) {
		return nil, at
	}
	at += 2
	dict, key := dictionary{}, ""
	for {
		at = skipBlank(pdf, at)
		if bytes.HasPrefix(pdf[at:], []byte(">>")) {
			return dict, at + 2
		}
		var p piece
		p, at = readPiece(pdf, at)
		isKey := p.kind == name && (key == "" || dict.has(key))
		switch {
		case p.kind == broken, isKey && (len(dict) == maxKeys || dict.has(p.text)), !isKey && (key == "" || len(dict[key]) == 3):
			return nil, at
		case isKey:
			key = p.text
		default:
			dict[key] = append(dict[key], p)
		}
	}
}

// readPiece reads one piece and says where it ends.
func readPiece(pdf []byte, at int) (piece, int) {
	if at >= len(pdf) {
		return piece{}, at
	}
	switch c := pdf[at]; {
	case c == '/':
		end := wordEnd(pdf, at+1)
		return piece{name, short(pdf[at+1 : end])}, end
	case c == '(':
		return readText(pdf, at)
	case c == '[' || bytes.HasPrefix(pdf[at:], []byte("<<")):
		return readNested(pdf, at)
	case c == '<':
		end := bytes.IndexByte(pdf[at:], '>')
		if end < 0 {
			return piece{}, len(pdf)
		}
		return piece{kind: other}, at + end + 1
	case isDelimiter(c):
		return piece{}, at + 1
	}
	end := wordEnd(pdf, at)
	return piece{word, short(pdf[at:end])}, end
}

// readNested passes over an array or a dictionary with all that is in it, without calling itself: a file may nest as deep as it likes.
func readNested(pdf []byte, from int) (piece, int) {
	depth, at := 0, from
	for at < len(pdf) && depth <= maxDepth {
		switch {
		case pdf[at] == '[':
			depth, at = depth+1, at+1
		case pdf[at] == ']':
			depth, at = depth-1, at+1
		case bytes.HasPrefix(pdf[at:], []byte("<<")):
			depth, at = depth+1, at+2
		case bytes.HasPrefix(pdf[at:], []byte(">>")):
			depth, at = depth-1, at+2
		default:
			var p piece
			if p, at = readPiece(pdf, at); p.kind == broken {
				return piece{}, at
			}
		}
		if depth == 0 {
			return piece{nested, short(bytes.TrimSpace(bytes.Trim(pdf[from:at], "[]")))}, at
		}
		at = skipBlank(pdf, at)
	}
	return piece{}, at
}

// readText passes over a text in parentheses, which may hold others in pairs.
func readText(pdf []byte, at int) (piece, int) {
	for depth := 0; at < len(pdf); at++ {
		switch pdf[at] {
		case '\\':
			at++
		case '(':
			depth++
		case ')':
			if depth--; depth == 0 {
				return piece{kind: other}, at + 1
			}
		}
	}
	return piece{}, len(pdf)
}

// skipBlank is where blanks and comments end.
func skipBlank(pdf []byte, at int) int {
	for at < len(pdf) {
		switch {
		case isBlank(pdf[at]):
			at++
		case pdf[at] == '%':
			end := bytes.IndexAny(pdf[at:], "\r\n")
			if end < 0 {
				return len(pdf)
			}
			at += end
		default:
			return at
		}
	}
	return len(pdf)
}

func wordEnd(pdf []byte, at int) int {
	for at < len(pdf) && !isBlank(pdf[at]) && !isDelimiter(pdf[at]) {
		at++
	}
	return at
}

// Blanks and delimiters of ISO 32000-1, 7.2.2.
func isBlank(c byte) bool {
	return c == 0 || c == '\t' || c == '\n' || c == '\f' || c == '\r' || c == ' '
}

func isDelimiter(c byte) bool {
	switch c {
	case '(', ')', '<', '>', '[', ']', '{', '}', '/', '%':
		return true
	}
	return false
}

// short keeps a piece as text; a longer one is none of those that are looked for.
func short(b []byte) string { return string(b[:min(len(b), maxWord)]) }
