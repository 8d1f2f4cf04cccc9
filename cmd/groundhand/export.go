package main

import (
	"bytes"
	"context"
	"fmt"

	"groundhand/internal/certificate"
	"groundhand/internal/groundhand"
)

// exportCmd writes certificates as a ZIP with a list.
type exportCmd struct {
	recordsFlags
	As      string `required:"" help:"Name of the account that exports; a coordinator's or HR's."`
	From    string `help:"Shown on this day or later, as 2025-03-01."`
	Through string `help:"Shown on this day or earlier."`
	Crew    string `help:"Only people who were in this crew on the day."`
	Out     string `required:"" help:"ZIP file to write; - is standard output."`
}

// Run writes the file whole or not at all.
func (c *exportCmd) Run() error {
	return c.withAs(c.As, func(ctx context.Context, h *house, by groundhand.Account) error {
		filter, err := c.filter()
		if err != nil {
			return err
		}
		var zip bytes.Buffer
		n, err := h.certificates.Export(ctx, by, filter, &zip)
		if err != nil {
			return err
		}
		if err := writeOut(c.Out, zip.Bytes()); err != nil {
			return err
		}
		if c.Out != "-" {
			fmt.Printf("Certificates written to %s: %d.\n", c.Out, n)
		}
		return nil
	})
}

func (c *exportCmd) filter() (certificate.Filter, error) {
	f := certificate.Filter{Crew: groundhand.CrewID(c.Crew)}
	var p groundhand.Problems
	for _, day := range []struct {
		flag, text string
		into       *groundhand.Date
	}{{"--from", c.From, &f.ShownFrom}, {"--through", c.Through, &f.ShownThrough}} {
		if day.text == "" {
			continue
		}
		d, err := groundhand.ParseDate(day.text)
		_ = p.Take(day.flag, err) // a day that cannot be read is a refusal and nothing else
		*day.into = d
	}
	return f, p.Err()
}
