package certificate

import (
	"context"
	"fmt"
	"io"
	"slices"

	"groundhand/internal/access"
	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Filter says which certificates are wanted. Empty fields do not narrow.
type Filter struct {
	ShownFrom    groundhand.Date
	ShownThrough groundhand.Date
	Crew         groundhand.CrewID          // members of the crew on the day it was shown
	Numbers      []groundhand.CertificateID // withdrawn ones too; without numbers only those that stand are picked
}

// Export writes the certificates that a filter picks as a ZIP: a PDF for each, and a list with the digest of each file. The whole is
// checked before the first byte is written. A certificate that is not to be relied on any more says so on its page and in the list. The
// same records asked on the same day give the same bytes. The number of certificates is returned.
func (c *Issuer) Export(ctx context.Context, by groundhand.Account, f Filter, w io.Writer) (int, error) {
	if err := access.May(by, access.ExportCertificates); err != nil {
		return 0, err
	}
	if err := f.check(); err != nil {
		return 0, err
	}
	sheets, err := c.sheets(ctx, func(seen *Issuer) ([]groundhand.Certificate, error) { return seen.pick(ctx, f) })
	if err != nil {
		return 0, err
	}
	return len(sheets), paper.Zip(w, sheets)
}

// Paper writes one certificate as a PDF.
func (c *Issuer) Paper(ctx context.Context, by groundhand.Account, id groundhand.CertificateID, w io.Writer) error {
	if err := access.May(by, access.ReadCertificates); err != nil {
		return err
	}
	sheets, err := c.sheets(ctx, func(seen *Issuer) ([]groundhand.Certificate, error) {
		cert, err := store.Get[groundhand.Certificate](ctx, seen.store, id)
		return []groundhand.Certificate{cert}, err
	})
	if err != nil {
		return err
	}
	return paper.Write(w, sheets[0])
}

// sheets puts the certificates that are picked into words for paper, all as of one moment.
func (c *Issuer) sheets(ctx context.Context, pick func(*Issuer) ([]groundhand.Certificate, error)) (out []paper.Sheet, err error) {
	err = c.store.InSnapshot(ctx, func(s *store.Store) error {
		seen := c.over(s)
		certs, err := pick(seen)
		if err != nil {
			return err
		}
		out, err = seen.print(ctx, certs)
		return err
	})
	return out, err
}

func (c *Issuer) print(ctx context.Context, certs []groundhand.Certificate) ([]paper.Sheet, error) {
	b, err := c.book(ctx)
	if err != nil {
		return nil, err
	}
	still, err := c.reliance(ctx, certs)
	if err != nil {
		return nil, err
	}
	out := make([]paper.Sheet, len(certs))
	for i, cert := range certs {
		if out[i], err = b.sheet(cert); err != nil {
			return nil, err
		}
		out[i].Standing = still[cert.ID]
	}
	return out, nil
}

func (f Filter) check() error {
	if f.ShownThrough != 0 && f.ShownFrom > f.ShownThrough {
		return groundhand.Invalid("shownThrough", "The days end on %s, before they begin on %s.", f.ShownThrough.Words(), f.ShownFrom.Words())
	}
	if len(f.Numbers) > paper.MaxBatch {
		return &groundhand.Error{Code: groundhand.CodeTooLarge, Field: "numbers", Message: fmt.Sprintf("Ask for at most %d certificates at a time.", paper.MaxBatch)}
	}
	return nil
}

func (c *Issuer) pick(ctx context.Context, f Filter) ([]groundhand.Certificate, error) {
	certs, err := c.candidates(ctx, f.Numbers)
	if err != nil {
		return nil, err
	}
	certs = slices.DeleteFunc(certs, func(cert groundhand.Certificate) bool {
		return f.ShownFrom != 0 && cert.ShownOn < f.ShownFrom || f.ShownThrough != 0 && cert.ShownOn > f.ShownThrough
	})
	if f.Crew == "" {
		return certs, nil
	}
	return c.ofCrew(ctx, certs, f.Crew)
}

// candidates are the certificates named, every unknown number refused at once, or all that stand.
func (c *Issuer) candidates(ctx context.Context, numbers []groundhand.CertificateID) ([]groundhand.Certificate, error) {
	if len(numbers) == 0 {
		return store.Standing[groundhand.Certificate](ctx, c.store)
	}
	found, err := store.Find[groundhand.Certificate](ctx, c.store, store.ByID, numbers)
	if err != nil {
		return nil, err
	}
	known, problems := map[groundhand.CertificateID]bool{}, groundhand.Problems{}
	for _, cert := range found {
		known[cert.ID] = true
	}
	for i, n := range numbers {
		if !known[n] {
			problems.Add(groundhand.CodeNotFound, fmt.Sprintf("numbers[%d]", i), "There is no certificate %q.", n)
		}
	}
	return found, problems.Err()
}

// ofCrew keeps the certificates of those who were in a crew on the day of showing, loans and splits included.
func (c *Issuer) ofCrew(ctx context.Context, certs []groundhand.Certificate, crew groundhand.CrewID) ([]groundhand.Certificate, error) {
	if _, err := store.Get[groundhand.Crew](ctx, c.store, crew); err != nil {
		return nil, groundhand.NotFound("crew", "There is no crew %q.", crew)
	}
	places := map[groundhand.Date]map[groundhand.WorkerID]groundhand.Membership{}
	var out []groundhand.Certificate
	for _, cert := range certs {
		day, known := places[cert.ShownOn]
		if !known {
			var err error
			if day, err = c.roll.PlacesOn(ctx, cert.ShownOn); err != nil {
				return nil, err
			}
			places[cert.ShownOn] = day
		}
		if day[cert.WorkerID].CrewID == crew {
			out = append(out, cert)
		}
	}
	return out, nil
}
