package rollcall

import (
	"context"

	"golang.org/x/sync/errgroup"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// FirstBad is the search for a bad moment ahead, for tests with more breakpoints than records would give.
var FirstBad = firstBad

// OutlookParts splits an Outlook where the records are read: the rest is the engines' work.
type OutlookParts struct{ chunks []outlookChunk }

// OutlookParts reads the records.
func (r *Roll) OutlookParts(ctx context.Context, on groundhand.Date, days int) (OutlookParts, error) {
	o, err := r.outlook(ctx, on, days)
	if err != nil {
		return OutlookParts{}, err
	}
	var out OutlookParts
	for _, crews := range o.day.chunks() {
		chunk, err := o.load(ctx, crews)
		if err != nil {
			return out, err
		}
		out.chunks = append(out.chunks, chunk)
	}
	return out, nil
}

// Answer is the work of the engines, as many chunks at once as in Outlook.
func (p OutlookParts) Answer() (int, error) {
	var group errgroup.Group
	group.SetLimit(atOnce)
	n := make([]int, len(p.chunks))
	for i, c := range p.chunks {
		group.Go(func() error {
			crews, err := c.answer()
			n[i] = len(crews)
			return err
		})
	}
	err := group.Wait()
	sum := 0
	for _, crews := range n {
		sum += crews
	}
	return sum, err
}

// AskedOutlook is the two questions about one family of a crew and what came of them.
type AskedOutlook struct {
	Day, Ahead readiness.Question
	judge      outlookQuestion
}

// Judge judges both.
func (a AskedOutlook) Judge() (FamilyOutlook, error) { return a.judge.judge() }

// Questions are all questions asked.
func (p OutlookParts) Questions() ([]AskedOutlook, error) {
	var out []AskedOutlook
	for _, c := range p.chunks {
		asked, err := c.questions()
		if err != nil {
			return nil, err
		}
		for _, crew := range asked {
			for _, f := range crew.families {
				out = append(out, AskedOutlook{f.day, f.ahead, f})
			}
		}
	}
	return out, nil
}

// Affordable keeps as many trials of so many cells each as are judged in one go; the same likeness is judged once.
func Affordable(cells int, likeness []string) (kept, leftOut int) {
	trials := make([]trial, len(likeness))
	for i, alike := range likeness {
		trials[i] = trial{cells: make([]spot, cells), alike: alike}
	}
	list, left := affordable(trials, firstAlike(trials))
	return len(list), left
}
