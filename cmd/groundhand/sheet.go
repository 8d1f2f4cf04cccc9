package main

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// sheet is plain text of at most 100 columns.
type sheet struct{ strings.Builder }

const columns = 100

func (s *sheet) line() { s.WriteByte('\n') }

func (s *sheet) heading(title string) {
	s.line()
	s.text(0, "%s", strings.ToUpper(title))
}

// text writes a paragraph. What does not fit goes on below, further in.
func (s *sheet) text(indent int, format string, args ...any) {
	const further = 4
	margin, width := strings.Repeat(" ", indent), indent
	s.WriteString(margin)
	for i, word := range words(fmt.Sprintf(format, args...)) {
		size := utf8.RuneCountInString(word)
		if i > 0 && width+size > columns {
			word = strings.TrimLeft(word, " ")
			s.WriteString("\n" + margin + strings.Repeat(" ", further))
			width, size = indent+further, utf8.RuneCountInString(word)
		}
		s.WriteString(word)
		width += size
	}
	s.line()
}

// words cuts a text before each space, so that columns keep theirs.
func words(text string) []string {
	var out []string
	start := 0
	for i := 1; i < len(text); i++ {
		if text[i] == ' ' && text[i-1] != ' ' {
			out, start = append(out, text[start:i]), i
		}
	}
	return append(out, text[start:])
}

// count writes small numbers in words.
func count(n int) string {
	if words := []string{"none", "one", "two", "three", "four"}; n >= 0 && n < len(words) {
		return words[n]
	}
	return fmt.Sprint(n)
}

func orNobody(names []string) string {
	if len(names) == 0 {
		return "nobody"
	}
	return strings.Join(names, ", ")
}
