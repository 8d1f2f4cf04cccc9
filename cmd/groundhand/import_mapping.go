package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
	"groundhand/internal/training"
)

// proposed is the word for taking the proposal as the mapping. It has to be said: a proposal is looked at before it is used.
const proposed = "proposed"

// mostMapping bounds a file of a mapping, in bytes.
const mostMapping = 1 << 16

// meanings reads the mapping given on the command line; nil when none is.
func (c *importCmd) meanings(ctx context.Context, desk *training.Desk, by groundhand.Account) ([]string, error) {
	if len(c.Mapping) == 0 {
		return nil, nil
	}
	look, err := c.proposal(ctx, desk, by)
	if err != nil {
		return nil, err
	}
	lines, err := mappingLines(c.Mapping)
	if err != nil {
		return nil, err
	}
	return meaningsOf(lines, look.Proposal)
}

func (c *importCmd) proposal(ctx context.Context, desk *training.Desk, by groundhand.Account) (training.Columns, error) {
	file, err := os.Open(c.File)
	if err != nil {
		return training.Columns{}, err
	}
	defer file.Close()
	return desk.ProposeMapping(ctx, by, c.table(file, nil))
}

// mappingLines replaces names of files by what stands in them.
func mappingLines(given []string) ([]string, error) {
	var out []string
	for _, g := range given {
		if g == proposed || strings.Contains(g, "=") {
			out = append(out, g)
			continue
		}
		content, err := readUpTo(g, mostMapping)
		if err != nil {
			return nil, err
		}
		for _, line := range strings.Split(string(content), "\n") {
			if line = strings.TrimSpace(line); line != "" {
				out = append(out, line)
			}
		}
	}
	return out, nil
}

func meaningsOf(lines []string, p exchange.Proposal) ([]string, error) {
	out := make([]string, len(p.Headings))
	for _, line := range lines {
		if line == proposed {
			copy(out, p.Meanings())
			continue
		}
		cut := strings.LastIndex(line, "=")
		if cut < 0 {
			return nil, groundhand.Invalid("mapping", "Write COLUMN=MEANING, as \"Staff No=number\"; %q is none.", visible(line))
		}
		i, err := columnNamed(strings.TrimSpace(line[:cut]), p)
		if err != nil {
			return nil, err
		}
		out[i] = strings.TrimSpace(line[cut+1:])
	}
	return out, nil
}

// columnNamed finds a column by its heading, or by its letter where headings are alike or empty.
func columnNamed(name string, p exchange.Proposal) (int, error) {
	var found []int
	for i, g := range p.Guesses {
		if exchange.SameHeadings([]string{name}, []string{g.Heading}) {
			found = append(found, i)
		}
	}
	for i, g := range p.Guesses {
		if len(found) != 1 && g.Letter == name {
			return i, nil
		}
	}
	if len(found) != 1 {
		return 0, groundhand.Invalid("mapping", "%d columns of the file have the heading %q. Name the column by its letter.", len(found), visible(name))
	}
	return found[0], nil
}

// saveMapping saves the mapping that is used, before the rows are read by it.
func (c *importCmd) saveMapping(ctx context.Context, out io.Writer, desk *training.Desk, by groundhand.Account, key string, meanings []string) error {
	if c.SaveMapping == "" {
		return nil
	}
	if len(meanings) == 0 {
		return groundhand.Invalid("saveMapping", "Say with --mapping what is to be saved.")
	}
	look, err := c.proposal(ctx, desk, by)
	if err != nil {
		return err
	}
	saved, err := desk.SaveMapping(ctx, by, key, training.MappingForm{Title: c.SaveMapping, Headings: look.Proposal.Headings, Columns: meanings})
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "The mapping %q is saved for files with these headings.\n", saved.Title)
	return err
}
