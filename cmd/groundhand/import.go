package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"
	"unicode"

	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
	"groundhand/internal/training"
)

// importCmd reads a table of people, crews, drills or assessments into the records.
type importCmd struct {
	DB     string `name:"db" default:"groundhand.db" env:"GROUNDHAND_DB" type:"existingfile" help:"File of the records."`
	As     string `required:"" help:"Name of the account that imports; a coordinator's."`
	Kind   string `required:"" enum:"people,crews,drills,assessments" help:"What the rows are about: people, crews, drills or assessments."`
	DryRun bool   `help:"Only say what an import would do with each row."`
	Accept string `default:"all" help:"Rows to write: all, clean (those that are not refused), or numbers such as 2,5-9. When one of them is refused, nothing is written."`
	Zone   string `default:"Local" env:"GROUNDHAND_ZONE" help:"Time zone of the local day, such as Europe/Dublin."`
	File   string `arg:"" type:"existingfile" help:"CSV file in UTF-8, or XLSX workbook. The sheet named as the kind is read, else the only one."`
}

// Run ends with status 2 when a row to be written is refused; nothing is written then.
func (c *importCmd) Run() error { return c.run(context.Background(), os.Stdout, time.Now) }

func (c *importCmd) run(ctx context.Context, out io.Writer, now func() time.Time) (err error) {
	zone, err := zoneNamed(c.Zone)
	if err != nil {
		return err
	}
	records, err := store.Open(c.DB, store.Options{Now: now})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, records.Close()) }()
	by, err := accountNamed(ctx, records, c.As)
	if err != nil {
		return err
	}
	desk := training.New(records, rollcall.New(records, zone))
	if c.DryRun {
		seen, err := c.preview(ctx, desk, by)
		if err != nil {
			return faulty(err)
		}
		return printPreview(out, seen)
	}
	accept, err := c.accepted(ctx, desk, by)
	if err != nil {
		return faulty(err)
	}
	return c.write(ctx, out, desk, by, records.NewID(), accept)
}

func (c *importCmd) write(ctx context.Context, out io.Writer, desk *training.Desk, by groundhand.Account, key string, accept training.Accept) error {
	file, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer file.Close()
	done, err := desk.Import(ctx, by, key, c.table(file), accept)
	if len(done.Preview.Refusals) > 0 {
		return errors.Join(printRefusals(out, done.Preview.Refusals), &exitError{exitFaulty, errors.New("rows are refused; nothing was written")})
	}
	if err != nil {
		return faulty(err)
	}
	_, err = fmt.Fprintf(out, "Rows written: %d. Rows that were in the records already or stand twice: %d.\n", done.Written, done.Known)
	return err
}

func (c *importCmd) preview(ctx context.Context, desk *training.Desk, by groundhand.Account) (training.ImportPreview, error) {
	file, err := os.Open(c.File)
	if err != nil {
		return training.ImportPreview{}, err
	}
	defer file.Close()
	return desk.Preview(ctx, by, c.table(file))
}

func (c *importCmd) table(body io.Reader) training.ImportFile {
	return training.ImportFile{Name: c.File, Kind: exchange.Kind(c.Kind), Body: body}
}

// accepted reads which rows are to be written. Clean rows are found by a preview: what the person then gets is that list, nothing looser.
func (c *importCmd) accepted(ctx context.Context, desk *training.Desk, by groundhand.Account) (training.Accept, error) {
	switch c.Accept {
	case "all":
		return training.Accept{All: true}, nil
	case "clean":
		seen, err := c.preview(ctx, desk, by)
		rows := slices.Clone(seen.New)
		for _, k := range seen.Known {
			rows = append(rows, k.Row)
		}
		if err == nil && len(rows) == 0 {
			err = groundhand.Invalid("accept", "No row of the file can be taken. Look at it with --dry-run.")
		}
		return training.Accept{Rows: rows}, err
	}
	rows, err := rowNumbers(c.Accept)
	return training.Accept{Rows: rows}, err
}

// mostRowNumber bounds the numbers of rows in a list, so that a typing error does not fill the memory.
const mostRowNumber = 1 << 20

// rowNumbers reads a list such as 2,5-9.
func rowNumbers(list string) ([]int, error) {
	var out []int
	for _, part := range strings.Split(list, ",") {
		from, to, several := strings.Cut(strings.TrimSpace(part), "-")
		if !several {
			to = from
		}
		first, err := strconv.Atoi(from)
		last, err2 := strconv.Atoi(to)
		if err != nil || err2 != nil || first < 1 || last < first || last > mostRowNumber {
			return nil, groundhand.Invalid("accept", "Write all, clean, or row numbers such as 2,5-9; %q is none.", part)
		}
		for row := first; row <= last; row++ {
			out = append(out, row)
		}
	}
	return out, nil
}

func printPreview(out io.Writer, p training.ImportPreview) error {
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
