package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"groundhand/internal/audit"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

// auditCmd asks whether the records deserve belief. It changes nothing.
type auditCmd struct {
	Sample  auditSampleCmd  `cmd:"" help:"Draw passes at random, so that anybody can draw the same again, with what lies behind each."`
	Screens auditScreensCmd `cmd:"" help:"Look for what can hardly have been as it is written: questions for a person, never a verdict."`
	Trail   auditTrailCmd   `cmd:"" help:"List what was corrected, withdrawn, told late or refused since a day."`
	Pack    auditPackCmd    `cmd:"" help:"Write everything about a crew in a time as a ZIP that can be checked without this program."`
}

// auditFlags are the settings of every question of an audit.
type auditFlags struct {
	recordsFlags
	As string `required:"" help:"Name of the account that asks; an auditor's or a coordinator's."`
}

// ask asks in the name of the account and prints what it says.
func (f auditFlags) ask(out io.Writer, question func(ctx context.Context, a *audit.Auditor, h *house, by groundhand.Account) error) error {
	return f.withAs(f.As, func(ctx context.Context, h *house, by groundhand.Account) error {
		if err := question(ctx, audit.New(h.records, h.roll), h, by); err != nil {
			return err
		}
		_, err := fmt.Fprintln(out, "\nThese are questions for a person. No entry is wrong because it stands here, and none is proven right because it does not.\n"+caution)
		return err
	})
}

// dayFlags are a first and a last day.
type dayFlags struct {
	From    string `required:"" help:"First day, as 2025-01-01."`
	Through string `required:"" help:"Last day."`
}

func (f dayFlags) days() (from, through groundhand.Date, err error) {
	if from, err = groundhand.ParseDate(f.From); err != nil {
		return 0, 0, err
	}
	through, err = groundhand.ParseDate(f.Through)
	return from, through, err
}

type auditSampleCmd struct {
	auditFlags
	dayFlags
	Seed int64 `required:"" help:"Any whole number; the same one draws the same sample from the same records."`
	N    int   `default:"25" help:"How many passes."`
}

// Run prints a line for each pass drawn.
func (c *auditSampleCmd) Run() error {
	return c.ask(os.Stdout, func(ctx context.Context, a *audit.Auditor, h *house, by groundhand.Account) error {
		from, through, err := c.days()
		if err != nil {
			return err
		}
		s, err := a.Sample(ctx, by, audit.SampleAsk{Seed: c.Seed, N: c.N, From: from, Through: through})
		if err != nil {
			return err
		}
		names, err := h.records.NamesOn(ctx, nil, through)
		fmt.Printf("%d of %d passes from %s to %s, drawn with the seed %d.\n\n", len(s.Passes), s.Of, from.Words(), through.Words(), c.Seed)
		for _, p := range s.Passes {
			fmt.Printf("%s  %s  %s as %s, family %s, before %s, recorded %s, leaf %d: %s\n", p.HappenedOn.Words(), names[p.WorkerID], rollcall.MethodWords(string(p.Method)), strings.ToLower(string(p.Role)),
				p.FamilyID, names[p.AssessorID], p.RecordedAt.In(h.roll.Zone()).Format("2 Jan 2006 15:04"), p.Leaf, p.Words())
		}
		fmt.Println("\nDrawn by the smallest SHA-256 of the seed, a colon and the id of each standing pass of these days.")
		return err
	})
}

type auditScreensCmd struct {
	auditFlags
	dayFlags
}

// Run prints the questions by day.
func (c *auditScreensCmd) Run() error {
	return c.ask(os.Stdout, func(ctx context.Context, a *audit.Auditor, h *house, by groundhand.Account) error {
		from, through, err := c.days()
		if err != nil {
			return err
		}
		findings, err := a.Screens(ctx, by, from, through)
		if err != nil {
			return err
		}
		names, err := h.records.NamesOn(ctx, nil, through)
		fmt.Printf("%d questions about what was recorded from %s to %s.\n", len(findings), from.Words(), through.Words())
		for _, f := range findings {
			who := make([]string, len(f.Workers))
			for i, id := range f.Workers {
				who[i] = names[id]
			}
			fmt.Printf("\n%s: %s\n  people: %s\n  entries: %s\n", f.On.Words(), f.Question, strings.Join(who, ", "), joinIDs(f.Entries))
		}
		return err
	})
}

func joinIDs(ids []groundhand.EntryID) string {
	words := make([]string, len(ids))
	for i, id := range ids {
		words[i] = string(id)
	}
	return strings.Join(words, " ")
}

type auditTrailCmd struct {
	auditFlags
	Since string `required:"" help:"Recorded on this day or later."`
}

// Run prints the trail in the order in which it was recorded.
func (c *auditTrailCmd) Run() error {
	return c.ask(os.Stdout, func(ctx context.Context, a *audit.Auditor, h *house, by groundhand.Account) error {
		since, err := groundhand.ParseDate(c.Since)
		if err != nil {
			return err
		}
		zone := h.roll.Zone()
		t, err := a.Trail(ctx, by, groundhand.InstantOf(since.Start(zone)))
		if err != nil {
			return err
		}
		names, err := h.records.NamesOn(ctx, nil, h.roll.Today())
		when := func(at groundhand.Instant) string { return at.In(zone).Format("Mon 2 Jan 2006 15:04") }
		fmt.Printf("Since %s: %d corrections and withdrawals, %d late entries, %d refused signatures, %d extensions.\n", since.Words(), len(t.Corrections), len(t.Late), len(t.Refused), len(t.Extensions))
		for _, x := range t.Corrections {
			fmt.Printf("\n%s  %s by %s: %s\n  in place of %s stands %s\n", when(x.RecordedAt), strings.ToLower(string(x.Kind)), nameOr(names, x.AuthorID), x.Because, x.ReplacedID, x.ByID)
		}
		for _, e := range t.Late {
			fmt.Printf("\n%s  late by %s: %s %s about %s, of %s\n", when(e.RecordedAt), nameOr(names, e.AuthorID), e.Kind, e.ID, nameOr(names, e.WorkerID), e.HappenedOn.Words())
		}
		for _, r := range t.Refused {
			fmt.Printf("\n%s  refused to %s: %s\n", when(r.RecordedAt), nameOr(names, r.AuthorID), r.Message)
		}
		return err
	})
}

func nameOr(names map[groundhand.WorkerID]string, id groundhand.WorkerID) string {
	if name := names[id]; name != "" {
		return name
	}
	return "nobody in the books"
}

type auditPackCmd struct {
	auditFlags
	dayFlags
	Crew  string `required:"" help:"The crew, by its id."`
	Known string `help:"As known at this moment, as 2025-05-03T21:40:00+01:00; now if left out."`
	Out   string `required:"" help:"ZIP to write."`
}

// Run writes the pack. The file appears whole or not at all.
func (c *auditPackCmd) Run() error {
	return c.ask(os.Stdout, func(ctx context.Context, a *audit.Auditor, h *house, by groundhand.Account) error {
		from, through, err := c.days()
		if err != nil {
			return err
		}
		ask := audit.PackAsk{CrewID: groundhand.CrewID(c.Crew), From: from, Through: through}
		if c.Known != "" {
			known, err := time.Parse(time.RFC3339, c.Known)
			if err != nil {
				return groundhand.Invalid("--known", "%q is no moment such as 2025-05-03T21:40:00+01:00.", c.Known)
			}
			ask.AsKnownAt = groundhand.InstantOf(known)
		}
		var file bytes.Buffer
		if err := a.Pack(ctx, by, ask, &file); err != nil {
			return err
		}
		if err := writeOut(c.Out, file.Bytes()); err != nil {
			return err
		}
		fmt.Printf("Everything about %s from %s to %s is in %s. Its page says how to check it without this program.\n", c.Crew, from.Words(), through.Words(), c.Out)
		return nil
	})
}
