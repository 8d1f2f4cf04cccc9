package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"golang.org/x/term"
)

// figure is one level of an answer: what it is, and below what it cannot come as far as is known.
type figure struct {
	name  string
	value int
	least int
	known bool // whether least says something
}

func figures(names [6]string, values [6]int, least *[6]int) []figure {
	var out []figure
	for i, name := range names {
		f := figure{name: strings.ReplaceAll(name, "_", " "), value: values[i]}
		if least != nil {
			f.least, f.known = least[i], true
		}
		out = append(out, f)
	}
	return out
}

// says is a figure with its bound and the gap between them.
func (f figure) says() string {
	switch {
	case !f.known:
		return fmt.Sprintf("%s %d", f.name, f.value)
	case f.value == f.least:
		return fmt.Sprintf("%s %d (best possible)", f.name, f.value)
	}
	return fmt.Sprintf("%s %d (at least %d, a gap of %d)", f.name, f.value, f.least, f.value-f.least)
}

// standing is the figures in one line.
func standing(all []figure) string {
	parts := make([]string, len(all))
	for i, f := range all {
		parts[i] = f.says()
	}
	return strings.Join(parts, ", ")
}

// progress shows on a terminal how a search goes and how it ended; a pipe stays quiet.
type progress struct {
	to      io.Writer
	width   int // columns of the terminal; 0: not known
	started time.Time
	shown   time.Time
}

func newProgress(file *os.File) *progress {
	p := &progress{started: time.Now()}
	if term.IsTerminal(int(file.Fd())) {
		p.to = file
		p.width, _, _ = term.GetSize(int(file.Fd())) // not known: the line stays whole
	}
	return p
}

// show replaces the line shown before; a quick search shows none. What is wider than the terminal is cut off: only the last row of a line
// that wraps could be replaced.
func (p *progress) show(line string) {
	now := time.Now()
	if p.to == nil || now.Sub(p.started) < time.Second || now.Sub(p.shown) < time.Second/4 {
		return
	}
	p.shown = now
	if whole := []rune(line); p.width > 1 && len(whole) >= p.width {
		line = string(whole[:p.width-2]) + "…"
	}
	fmt.Fprintf(p.to, "\r\033[K%s", line)
}

// done ends the line that was shown last.
func (p *progress) done() {
	if p.to != nil && !p.shown.IsZero() {
		fmt.Fprintln(p.to)
	}
}

// end says how good the answer is. A bound speaks of answers that are no worse at the levels before, so each figure is said by itself.
func (p *progress) end(all []figure, caution string) {
	if p.to == nil {
		return
	}
	p.done()
	for _, f := range all {
		fmt.Fprintln(p.to, f.says())
	}
	fmt.Fprintln(p.to, caution)
}
