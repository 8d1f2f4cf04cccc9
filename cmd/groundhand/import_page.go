package main

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"
	"unicode"

	"groundhand/internal/competence"
	"groundhand/internal/exchange"
	"groundhand/internal/rollcall"
	"groundhand/internal/training"
)

func printPreview(out io.Writer, p training.ImportPreview) error {
	if p.Earlier != 0 {
		fmt.Fprintf(out, "This very file was imported before, on %s.\n", p.Earlier.In(time.UTC).Format("2 January 2006 at 15:04 UTC"))
	}
	fmt.Fprintf(out, "Rows: %d. New: %d. In the records already or twice in the file: %d. Refused cells: %d. Nothing was written.\n",
		p.Rows, len(p.New), len(p.Known), len(p.Refusals))
	for _, k := range p.Known {
		if k.SameAs > 0 {
			fmt.Fprintf(out, "Row %d says the same as row %d.\n", k.Row, k.SameAs)
		} else {
			fmt.Fprintf(out, "Row %d is in the records already.\n", k.Row)
		}
	}
	if len(p.Refusals) == 0 {
		return nil
	}
	if err := printRefusals(out, p.Refusals); err != nil {
		return err
	}
	return &exitError{exitFaulty, errors.New("rows are refused")}
}

// printColumns says what the headings are taken for or, where that is not known, what they may mean. Of a file with our own headings there
// is nothing to say.
func printColumns(out io.Writer, p training.ImportPreview) {
	switch c := p.Columns; {
	case c.Saved != "":
		fmt.Fprintf(out, "The headings are read by the saved mapping %q:\n", visible(c.Title))
		printMeanings(out, c)
	case c.Meanings != nil:
		fmt.Fprintln(out, "The headings are read as told:")
		printMeanings(out, c)
	case p.Rows == 0 && len(p.Refusals) > 0:
		printProposal(out, c.Proposal)
	}
}

func printMeanings(out io.Writer, c training.Columns) {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for i, g := range c.Proposal.Guesses {
		fmt.Fprintf(w, "  %s\t%s\t%s\n", g.Letter, visible(g.Heading), orLeftOut(c.Meanings[i]))
	}
	_ = w.Flush()
	fmt.Fprintln(out)
}

func orLeftOut(column string) string {
	if column == "" {
		return "(left out)"
	}
	return column
}

var sureWords = map[exchange.Sureness]string{exchange.Certain: "certain", exchange.Likely: "likely; look", exchange.CannotTell: "cannot tell"}

func printProposal(out io.Writer, p exchange.Proposal) {
	fmt.Fprintln(out, "The headings do not fit ours. What they may mean:")
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "  \theading\tmay be\thow sure\twhy")
	for _, g := range p.Guesses {
		fmt.Fprintf(w, "  %s\t%s\t%s\t%s\t%s\n", g.Letter, visible(g.Heading), orLeftOut(g.Column), sureWords[g.Sure], visible(g.Why))
	}
	_ = w.Flush()
	if len(p.Missing) > 0 {
		fmt.Fprintf(out, "Needed, and not found: %s.\n", strings.Join(p.Missing, ", "))
	}
	fmt.Fprintln(out, "Nothing is read by a proposal until a person says so: give --mapping proposed, or --mapping COLUMN=MEANING for each column.")
	fmt.Fprintln(out)
}

// printStandings says what the import would make of everybody's standing: what changes in full, the rest as a number.
func printStandings(out io.Writer, p training.ImportPreview) {
	s := &sheet{}
	if p.Unjudged != "" {
		s.text(0, "Standings are not shown, or not all: %s", visible(p.Unjudged))
	}
	if len(p.Standings) > 0 {
		s.text(0, "Standings on %s, before and after, were all rows written that are not refused:", p.Judged.Words())
		same := 0
		for _, c := range p.Standings {
			if !c.Changed() {
				same++
				continue
			}
			s.text(2, "%s (%s), %s: %s; then %s", visible(c.Name), visible(c.Number), askedWords(c), beforeWords(c), standWords(c.After))
		}
		s.text(2, "Standings that stay as they are: %d.", same)
		s.text(0, caution)
	}
	s.line()
	_, _ = io.WriteString(out, s.String())
}

func askedWords(c training.StandingChange) string {
	return rollcall.MethodWords(string(c.Method)) + " as " + strings.ToLower(string(c.Role)) + family(string(c.FamilyID))
}

func beforeWords(c training.StandingChange) string {
	if c.WorkerID == "" {
		return "not in the records"
	}
	return standWords(c.Before)
}

func standWords(s training.Stand) string {
	switch s.Standing {
	case competence.Current, competence.InGrace:
		return "last good day " + s.LastGoodDay.Words()
	case competence.OnExtension:
		return "on an extension, past the last good day " + s.LastGoodDay.Words()
	case competence.OnPaper:
		return "accepted on paper only"
	case competence.Lapsed:
		return "last good day was " + s.LastGoodDay.Words()
	}
	switch s.Note {
	case competence.NoRuleSet:
		return "cannot tell: no rule set is in force"
	case competence.NoLine:
		return "the rules ask nothing of this"
	case competence.NoFamily:
		return "cannot tell: the rules ask it for each control family, and the file names none"
	}
	return standingText[s.Standing]
}

// printRefusals prints one line a refusal. Texts of the file are hostile until seen: nothing that a terminal would obey is printed.
func printRefusals(out io.Writer, refusals []exchange.Refusal) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "row\tcolumn\tcell\twhy")
	for _, r := range refusals {
		fmt.Fprintf(w, "%d\t%s\t%s\t%s\n", r.Row, visible(strings.TrimSpace(r.Letter+" "+r.Column)), visible(r.Cell), visible(r.Message))
	}
	return w.Flush()
}

func visible(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return '\ufffd'
	}, s)
}
