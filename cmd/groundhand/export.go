package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"regexp"

	"groundhand/internal/certificate"
	"groundhand/internal/groundhand"
)

// exportCmd writes certificates as a ZIP that anybody can check.
type exportCmd struct {
	issuingFlags
	As       string   `required:"" help:"Name of the account that exports; a coordinator's or HR's."`
	Month    string   `help:"Shown in this month, as 2025-03."`
	From     string   `help:"Shown on this day or later, as 2025-03-01."`
	Through  string   `help:"Shown on this day or earlier."`
	Employer string   `help:"Only people whom this employer employed on the day, as the name stands in the records."`
	Client   string   `help:"Only certificates under a rule set of this client, or under the rule set of this id."`
	Crew     string   `help:"Only people who were in this crew on the day."`
	Person   []string `placeholder:"NUMBER" help:"Only the person with this staff number; may be given several times."`
	Number   []string `placeholder:"NUMBER" help:"Only the certificate with this number; may be given several times."`
	Out      string   `required:"" help:"ZIP file to write; - is standard output."`
}

// Run writes the file whole or not at all.
func (c *exportCmd) Run() error {
	return c.issuing(c.As, func(ctx context.Context, h *house, by groundhand.Account) error {
		filter, err := c.filter(ctx, h)
		if err != nil {
			return err
		}
		var done certificate.Exported
		shown := newProgress(os.Stderr)
		err = streamOut(c.Out, func(w io.Writer) (err error) {
			done, err = h.certificates.Export(ctx, by, filter, w, func(n, all int) {
				shown.show(fmt.Sprintf("Certificates written: %d of %d", n, all))
			})
			return err
		})
		shown.done()
		if err != nil || c.Out == "-" {
			return err
		}
		fmt.Printf("Certificates written to %s: %d.\n", c.Out, done.Certificates)
		if done.LeftOut > 0 {
			fmt.Printf("Not in it: %d more that the request meets; README.txt in the file names each, with the reason.\n", done.LeftOut)
		}
		return nil
	})
}

// filter reads the flags; all that is wrong with them is told at once.
func (c *exportCmd) filter(ctx context.Context, h *house) (certificate.Filter, error) {
	f := certificate.Filter{Crew: groundhand.CrewID(c.Crew), Employer: c.Employer, Client: c.Client}
	var p groundhand.Problems
	f.ShownFrom, f.ShownThrough = c.days(&p)
	for _, n := range c.Number {
		f.Numbers = append(f.Numbers, groundhand.CertificateID(n))
	}
	for _, n := range c.Person {
		worker, err := h.workerNumbered(ctx, n)
		if len(groundhand.Refusals(err)) == 0 && err != nil {
			return f, err
		}
		if err != nil || n == "" {
			p.Add(groundhand.CodeNotFound, "--person", "No worker has the staff number %q.", n)
			continue
		}
		f.People = append(f.People, worker)
	}
	return f, p.Err()
}

var month = regexp.MustCompile(`^\d{4}-(0[1-9]|1[0-2])$`)

// days are the first and the last day asked for. A month is a way to say both.
func (c *exportCmd) days(p *groundhand.Problems) (from, through groundhand.Date) {
	read := func(flag, text string) groundhand.Date {
		if text == "" {
			return 0
		}
		d, err := groundhand.ParseDate(text)
		_ = p.Take(flag, err) // a day that cannot be read is a refusal and nothing else
		return d
	}
	from, through = read("--from", c.From), read("--through", c.Through)
	switch {
	case c.Month == "":
		return from, through
	case c.From != "" || c.Through != "":
		p.Add(groundhand.CodeInvalid, "--month", "Give a month, or a first and a last day, not both.")
		return 0, 0
	}
	if !month.MatchString(c.Month) {
		p.Add(groundhand.CodeInvalid, "--month", "%q is no month; write it as 2025-03.", c.Month)
		return 0, 0
	}
	from = read("--month", c.Month+"-01")
	return from, from.MonthEnd()
}
