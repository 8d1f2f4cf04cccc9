package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"

	"groundhand/internal/access"
	"groundhand/internal/certificate"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

// largestPeopleFile bounds a file of people, in bytes.
const largestPeopleFile = 1 << 20

// packCmd answers whether named people are good under a rule set, and writes what a client is handed.
type packCmd struct {
	issuingFlags
	As           string   `required:"" help:"Name of the account that asks; a coordinator's, HR's or an auditor's. Packs go out by a coordinator or HR, certificates are issued by a coordinator."`
	Rules        string   `required:"" placeholder:"ID" help:"Rule set, such as the client's; it must be in force on the day."`
	On           string   `required:"" help:"The day on which they are to be good, as 2025-01-14."`
	Person       []string `placeholder:"WHO" help:"Staff number or name; may be given several times."`
	People       string   `placeholder:"FILE" type:"existingfile" help:"File of people, a staff number or a name on each line."`
	IssueMissing bool     `help:"First issue, all or none, the certificates that are missing under this rule set."`
	Out          string   `help:"ZIP file to write for the client: the list of people, and the certificates that are valid."`
	Facts        string   `help:"File to write the facts and questions to, format standing-facts/1, so that the answers can be recomputed with groundhand standing; for the house alone."`
}

// Run shows the answer, and writes the files that are asked for.
func (c *packCmd) Run() error { return c.run(os.Stdout) }

func (c *packCmd) run(out io.Writer) error {
	if c.Out == "-" {
		out = io.Discard // the ZIP goes there
	}
	return c.issuing(c.As, func(ctx context.Context, h *house, by groundhand.Account) error {
		called, places, err := c.called()
		if err != nil {
			return err
		}
		q, err := c.question(ctx, h, called)
		if err == nil {
			err = c.answer(ctx, out, h, by, q)
		}
		return placed(err, places)
	})
}

func (c *packCmd) answer(ctx context.Context, out io.Writer, h *house, by groundhand.Account, q certificate.PackQuestion) error {
	if c.IssueMissing {
		if err := issueMissing(ctx, out, h, by, q); err != nil {
			return err
		}
	}
	people, err := h.certificates.Listed(ctx, by, q)
	if err != nil {
		return err
	}
	if err := printPack(out, q, people); err != nil {
		return err
	}
	if c.Facts != "" {
		if err := c.writeFacts(ctx, h, by, q); err != nil {
			return err
		}
	}
	if c.Out == "" {
		return nil
	}
	return c.writePack(ctx, out, h, by, q)
}

// question finds the people; all that is wrong with the flags is told at once.
func (c *packCmd) question(ctx context.Context, h *house, called []string) (certificate.PackQuestion, error) {
	var p groundhand.Problems
	day, err := groundhand.ParseDate(c.On)
	_ = p.Take("--on", err) // a day that cannot be read is a refusal and nothing else
	if len(called) == 0 {
		p.Add(groundhand.CodeInvalid, "--person", "Name the people, with --person or in a file with --people.")
	}
	if p.Any() {
		return certificate.PackQuestion{}, p.Err()
	}
	people, err := h.roll.WhoIs(ctx, called, day)
	return certificate.PackQuestion{People: people, RuleSet: groundhand.RuleSetID(c.Rules), On: day}, err
}

// called are the people as they were named, and where each was.
func (c *packCmd) called() (called, places []string, err error) {
	for _, who := range c.Person {
		called, places = append(called, who), append(places, "--person "+who)
	}
	if c.People == "" {
		return called, places, nil
	}
	text, err := readUpTo(c.People, largestPeopleFile)
	if err != nil {
		return nil, nil, err
	}
	for i, line := range strings.Split(strings.TrimPrefix(string(text), "\ufeff"), "\n") {
		if who := strings.TrimSpace(line); who != "" {
			called, places = append(called, who), append(places, fmt.Sprintf("%s, line %d", c.People, i+1))
		}
	}
	return called, places, nil
}

// placed tells of people by where they were named.
func placed(err error, places []string) error {
	if len(groundhand.Refusals(err)) == 0 {
		return err
	}
	var p groundhand.Problems
	for _, e := range groundhand.Refusals(err) {
		var at int
		if n, _ := fmt.Sscanf(e.Field, "people[%d]", &at); n == 1 && at < len(places) {
			e = &groundhand.Error{Code: e.Code, Field: places[at], Message: e.Message}
		}
		_ = p.Take("", e) // a refusal and nothing else
	}
	return p.Err()
}

func issueMissing(ctx context.Context, out io.Writer, h *house, by groundhand.Account, q certificate.PackQuestion) error {
	issued, err := h.certificates.IssueMissing(ctx, by, "pack "+h.records.NewID(), q)
	if err != nil {
		return err
	}
	for _, cert := range issued {
		fmt.Fprintf(out, "Issued: certificate %s, %s, good through %s.\n", cert.ID, visible(cert.PersonName), cert.LastGoodDay.Words())
	}
	if len(issued) == 0 {
		fmt.Fprintln(out, "No certificate was missing.")
	}
	fmt.Fprintln(out)
	return nil
}

// printPack shows the answer for the house: the reasons in it are not for a client.
func printPack(out io.Writer, q certificate.PackQuestion, people []certificate.Packed) error {
	fmt.Fprintf(out, "Under the rules %s on %s:\n\n", visible(string(q.RuleSet)), q.On.Words())
	table := tabwriter.NewWriter(out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(table, "PERSON\tEMPLOYER\tGOOD\tWHAT IS ASKED\tLAST GOOD DAY\tCERTIFICATE")
	for _, p := range people {
		name, employer, good := visible(p.Name), visible(p.Employer), goodWord(p.Good)
		if len(p.Lines) == 0 {
			fmt.Fprintf(table, "%s\t%s\t%s\t%s\t\t\n", name, employer, good, rollcall.WhyNotGood(p.PersonUnderRules))
		}
		for _, l := range p.Lines {
			fmt.Fprintf(table, "%s\t%s\t%s\t%s\t%s\t%s\n", name, employer, good, rollcall.LineOf(l.LineUnderRules), lastWord(l), inHandWord(l))
			name, employer, good = "", "", ""
		}
	}
	if err := table.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(out, "\nFor the house, not for a client: the reasons stay inside.\n%s\n", rollcall.UnderRulesCaution)
	return nil
}

func goodWord(good bool) string {
	if good {
		return "good"
	}
	return "NOT GOOD"
}

func lastWord(l certificate.PackedLine) string {
	if !l.Good() {
		return rollcall.WhyLineNotGood(l.LineUnderRules)
	}
	return l.LastGoodDay.Words()
}

func inHandWord(l certificate.PackedLine) string {
	switch {
	case !l.Good():
		return ""
	case l.CertificateID != "":
		return string(l.CertificateID)
	case l.Missing():
		return "missing"
	case l.EvidenceID != "":
		return "none: over today"
	}
	return "none: outside evidence"
}

func (c *packCmd) writeFacts(ctx context.Context, h *house, by groundhand.Account, q certificate.PackQuestion) error {
	if err := access.May(by, access.ReadEntries); err != nil {
		return err
	}
	facts, err := h.roll.UnderRulesFacts(ctx, rollcall.UnderRulesQuestion{People: q.People, RuleSet: q.RuleSet, On: q.On})
	if err != nil {
		return err
	}
	text, err := facts.Encode()
	if err != nil {
		return err
	}
	if err := writeOut(c.Facts, text); err != nil {
		return err
	}
	return h.desk.Saw(ctx, by, "standingFacts", q.People)
}

func (c *packCmd) writePack(ctx context.Context, out io.Writer, h *house, by groundhand.Account, q certificate.PackQuestion) error {
	var done certificate.PackedUp
	err := streamOut(c.Out, func(w io.Writer) (err error) {
		done, err = h.certificates.Pack(ctx, by, q, w, nil)
		return err
	})
	if err == nil {
		err = h.desk.Saw(ctx, by, "client pack under "+c.Rules, q.People)
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "\nPack written to %s. People: %d, good: %d. Certificates: %d.\n", c.Out, done.People, done.Good, done.Certificates)
	if len(done.Missing) > 0 {
		fmt.Fprintf(out, "People without a certificate that could be issued: %d. A coordinator issues all that are missing with --issue-missing.\n", len(done.Missing))
	}
	return nil
}
