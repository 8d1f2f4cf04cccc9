package paper

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"

	"groundhand/internal/groundhand"
)

const title = "Record of rescue practice"

// Gaps below a fact, in millimetres: the widest one that leaves room is taken, so that a page with little to say is not a page half empty.
var airs = []float64{4.4, 3.6, 2.8, 2, 1.2, 0.4}

// compose sets the whole page, or says which texts do not fit.
func compose(s Sheet) (*page, error) {
	var p *page
	below := footTop - measured(s)
	for _, air := range airs {
		var over bool
		if p, over = fill(s, below, air); !over {
			return p, p.problem.Err()
		}
	}
	p.problem.Add(groundhand.CodeInvalid, "", "The texts together are too long for one page; shorten the longest.")
	return p, p.problem.Err()
}

// fill sets every part, the facts from the top and what stands below them so that it ends above the foot, and says whether they meet.
func fill(s Sheet, below, air float64) (p *page, over bool) {
	p = &page{code: s.CheckAddress, codeX: pageWidth - margin - codeSide + 2.4, air: air}
	c := &column{p, margin, 14, textWidth}
	heading(c, s)
	goodThrough(c, s)
	practice(c, s)
	over = c.y > below
	beforeRelying(&column{p, margin, below, textWidth}, s)
	foot(&column{p, margin, footTop, textWidth}, s)
	return p, over
}

// measured is the height of what stands below the facts.
func measured(s Sheet) float64 {
	c := &column{page: &page{}, w: textWidth}
	beforeRelying(c, s)
	return c.y
}

func heading(c *column, s Sheet) {
	c.set("employer", s.Employer, bold, headType)
	c.skip(0.8)
	c.set("number", title+", certificate number "+s.Number, plain, headType)
	c.skip(3)
	c.rule(0.6)
	c.skip(4 + c.page.air)
	c.set("person", s.Person, bold, nameType)
	c.skip(1.5)
	c.set("title", s.Title, plain, trainType)
	c.skip(3 + c.page.air)
}

// goodThrough stands before the rest, because that is what somebody at a gate looks for.
func goodThrough(c *column, s Sheet) {
	c.frame(0.6, func(in *column) {
		in.set("", fmt.Sprintf("Good through 24:00 local time on %s", s.LastGoodDay.Words()), bold, boxType)
		in.skip(c.page.air / 2)
		for i, f := range s.Rules {
			in.skip(c.page.air)
			in.row(fmt.Sprintf("rules[%d].text", i), f.Label, f.Text, factType)
		}
		in.skip(0.6)
	})
	c.skip(2 + c.page.air)
}

func practice(c *column, s Sheet) {
	c.fact("", "Shown on", s.ShownOn.Words())
	for i, f := range s.Practice {
		if f.Text != s.Title { // it stands above already, in large letters
			c.fact(fmt.Sprintf("practice[%d].text", i), f.Label, f.Text)
		}
	}
	if s.Assessor != "" {
		c.fact("assessor", "Watched by", s.Assessor)
	}
	c.fact("", "Issued on", s.IssuedOn.Words())
}

// beforeRelying is what a reader has to know who was handed nothing but the paper.
func beforeRelying(c *column, s Sheet) {
	c.rule(0.6)
	c.skip(2.5)
	c.page.codeY = c.y - 1
	if s.CheckAddress != "" {
		c.w = textWidth - codeSide - 2
	}
	c.set("", "Before you rely on this page", bold, []choice{{11, 1}})
	c.skip(1.5)
	for i, caution := range s.Cautions {
		c.set(fmt.Sprintf("cautions[%d]", i), caution, plain, smallText)
		c.skip(1.2)
	}
	c.set("number", rendering(s), plain, smallText)
	c.skip(2)
	c.w = textWidth
	if s.CheckAddress != "" {
		c.y = max(c.y, c.page.codeY+codeSide)
		c.set("checkAddress", s.CheckAddress, plain, []choice{{10, 1}, {9, 1}, {smallType, 3}})
		c.skip(2)
	}
	c.row("", "Fingerprint of the file", Fingerprint(s.Signed), traceType)
	c.row("", "Signed with the key", s.KeyID, traceType)
	c.skip(3)
}

// rendering says what the page is worth by itself. The check address shows no name, so a name that was changed on a copy is found with the
// file alone, and whoever holds the copy must be told.
func rendering(s Sheet) string {
	text := "This page is a rendering. What counts is the signed file attached to it, " + signedName(s) + "; a printout has none. "
	if s.CheckAddress == "" {
		return text + "It cannot be withdrawn electronically: ask the issuer, named at the top, whether it still stands and whose it is."
	}
	return text + "It may have been withdrawn or replaced since, which no page can show. Check it at the address below before you rely on it, and " +
		"compare number, dates and training. The name is not shown there: only the file proves it."
}

// Fingerprint is the first 16 hexadecimal digits of the SHA-256 of a signed file, in fours, for people who compare by eye.
func Fingerprint(signed []byte) string {
	sum := sha256.Sum256(signed)
	h := hex.EncodeToString(sum[:8])
	return h[:4] + " " + h[4:8] + " " + h[8:12] + " " + h[12:]
}

func foot(c *column, s Sheet) {
	c.rule(0.2)
	c.skip(1)
	c.set("number", "Certificate number "+s.Number+", page 1 of 1", plain, traceType)
}
