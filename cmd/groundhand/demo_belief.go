package main

import (
	"context"
	"strings"
	"time"

	"groundhand/internal/audit"
	"groundhand/internal/demo"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// belief is what an auditor asks on the same evening.
type belief struct {
	verified store.Verified
	sample   audit.Sample
	trail    audit.Trail
	findings []audit.Finding
	open     []groundhand.Review
	familiar []knownOf
}

// knownOf is what was known at a moment of a standing on the evening of the near miss.
type knownOf struct {
	at groundhand.Instant
	rollcall.Twice[[]rollcall.WorkerStanding]
}

// The sample of the demonstration, and the evening that is asked about again.
const (
	sampleSeed = 1
	sampleSize = 25
	nearMiss   = "2025-05-03"
)

func (h *house) belief(ctx context.Context, cast demo.Cast) (b belief, err error) {
	by, a := cast.Account(groundhand.Auditor), audit.New(h.records, h.roll)
	first, last := groundhand.MustDate("2024-01-01"), h.roll.Today()-1
	if b.verified, err = h.records.Verify(ctx, nil); err != nil {
		return b, err
	}
	if b.sample, err = a.Sample(ctx, by, audit.SampleAsk{Seed: sampleSeed, N: sampleSize, From: first, Through: last}); err != nil {
		return b, err
	}
	if b.trail, err = a.Trail(ctx, by, groundhand.InstantOf(first.Start(h.roll.Zone()))); err != nil {
		return b, err
	}
	if b.findings, err = a.Screens(ctx, by, first, last); err != nil {
		return b, err
	}
	if b.open, err = h.roll.OpenReviews(ctx); err != nil {
		return b, err
	}
	b.familiar, err = h.familiarWith(ctx, cast.Workers[demo.NotFamiliar])
	return b, err
}

// familiarWith asks three times what was known of somebody at the near miss: on that evening, three days later, and now.
func (h *house) familiarWith(ctx context.Context, who groundhand.WorkerID) (out []knownOf, err error) {
	ask := rollcall.StandingQuestion{Workers: []groundhand.WorkerID{who}, On: groundhand.MustDate(nearMiss),
		Lines: []rulebook.Asked{{Method: groundhand.Familiarisation, Role: groundhand.Second, FamilyID: "F4"}}}
	then := groundhand.InstantOf(groundhand.MustDate(nearMiss).End(h.roll.Zone()))
	for _, now := range []groundhand.Instant{then + 3*24*3600*1000, h.records.Now()} {
		twice, err := h.roll.StandingTwice(ctx, ask, then, now)
		if err != nil {
			return nil, err
		}
		out, then = append(out, knownOf{now, twice}), now
	}
	return out, nil
}

// believed shows what stands behind the records.
func (e *evening) believed(s *sheet) {
	b := e.belief
	s.heading("Whether the records deserve belief")
	if b.verified.Misfit != nil {
		s.text(2, "%s", misfitWords(*b.verified.Misfit))
	} else {
		s.text(2, "Every one of %d entries of the log is what was recorded, and every record has its entry.", b.verified.Size)
	}
	s.text(2, "Since the books were opened: corrections and withdrawals %d, late entries %d, refused signatures %d, extensions %d; reviews open %d.",
		len(b.trail.Corrections), len(b.trail.Late), len(b.trail.Refused), len(b.trail.Extensions), len(b.open))
	e.sampled(s)
	for _, f := range b.findings {
		s.text(4, "%s: %s", f.On.Words(), f.Question)
	}
	e.nearMissed(s)
	s.text(2, "These are questions for a person: no entry is wrong because it stands here, and none is proven right because it does not.")
}

func (e *evening) sampled(s *sheet) {
	clean := 0
	for _, p := range e.belief.sample.Passes {
		if p.Words() == "clean" {
			clean++
		}
	}
	s.text(2, "Of %d passes drawn from %d with the seed %d, %d are clean.", len(e.belief.sample.Passes), e.belief.sample.Of, e.belief.sample.Seed, clean)
	for _, p := range e.belief.sample.Passes {
		if p.Words() != "clean" {
			s.text(4, "%s, %s: %s", e.names[p.WorkerID], p.HappenedOn.Words(), p.Words())
		}
	}
}

// nearMissed says what was known of the near miss, and which entries made the difference.
func (e *evening) nearMissed(s *sheet) {
	s.text(2, "Did %s know the lower controls of family F4 at the near miss of %s?", e.names[e.belief.familiar[0].Then[0].WorkerID], groundhand.MustDate(nearMiss).Words())
	for i, k := range e.belief.familiar {
		if i == 0 {
			s.text(4, "as known on %s: %s", k.ThenAt.In(e.zone).Format("Mon 2 Jan 2006"), rollcall.StandingWords(k.Then[0]))
		}
		s.text(4, "as known on %s: %s", k.at.In(e.zone).Format("Mon 2 Jan 2006"), rollcall.StandingWords(k.Now[0]))
		told := groundhand.Instant(0)
		for _, d := range k.Differs {
			if d.Changed && d.RecordedAt != told {
				told = d.RecordedAt
				s.text(6, "%s", differenceWords(d, e.zone))
			}
		}
	}
}

func differenceWords(d rollcall.Difference, zone *time.Location) string {
	text := "entered " + d.RecordedAt.In(zone).Format("Mon 2 Jan 2006 15:04")
	if d.Because != "" {
		return text + ": " + d.Because
	}
	return text + " for " + d.HappenedOn.Words() + markedWords(d.Marks)
}

func markedWords(marks []rollcall.Mark) string {
	words := make([]string, len(marks))
	for i, m := range marks {
		words[i] = strings.ToLower(strings.ReplaceAll(string(m), "_", " "))
	}
	if len(words) == 0 {
		return ""
	}
	return " (" + strings.Join(words, ", ") + ")"
}
