package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
	"groundhand/internal/training"
)

// importCmd reads a table of people, crews, drills or assessments into the records.
type importCmd struct {
	DB          string   `name:"db" default:"groundhand.db" env:"GROUNDHAND_DB" type:"existingfile" help:"File of the records."`
	As          string   `required:"" help:"Name of the account that imports; a coordinator's."`
	Kind        string   `required:"" enum:"people,crews,drills,assessments" help:"What the rows are about: people, crews, drills or assessments."`
	DryRun      bool     `help:"Only say what an import would do with each row."`
	Preview     bool     `help:"The same, with what everybody's standing is before and would be after."`
	Mapping     []string `sep:"none" placeholder:"COLUMN=MEANING" help:"What a heading that is not ours means, as 'Staff No=number' or 'B=number'; once for each. Or the name of a file with such lines, or the word proposed. Headings that are not named are left out. Without it: what was saved for these headings."`
	SaveMapping string   `placeholder:"TITLE" help:"Save the mapping under a title: the next file with the same headings needs none."`
	Accept      string   `default:"all" help:"Rows to write: all, clean (those that are not refused), or numbers such as 2,5-9. When one of them is refused, nothing is written."`
	Zone        string   `default:"Local" env:"GROUNDHAND_ZONE" help:"Time zone of the local day, such as Europe/Dublin."`
	File        string   `arg:"" type:"existingfile" help:"CSV file in UTF-8, or XLSX workbook. The sheet named as the kind is read, else the only one."`
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
	meanings, err := c.meanings(ctx, desk, by)
	if err != nil {
		return faulty(err)
	}
	if c.DryRun || c.Preview {
		return c.look(ctx, out, desk, by, meanings)
	}
	accept, err := accepted(c.Accept)
	if err != nil {
		return faulty(err)
	}
	if err := c.saveMapping(ctx, out, desk, by, records.NewID(), meanings); err != nil {
		return faulty(err)
	}
	return c.write(ctx, out, desk, by, records.NewID(), meanings, accept)
}

func (c *importCmd) write(ctx context.Context, out io.Writer, desk *training.Desk, by groundhand.Account, key string, meanings []string, accept training.Accept) error {
	file, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer file.Close()
	done, err := desk.Import(ctx, by, key, c.table(file, meanings), accept)
	if err != nil && len(done.Preview.Refusals) > 0 {
		printColumns(out, done.Preview)
		return errors.Join(printRefusals(out, done.Preview.Refusals), &exitError{exitFaulty, errors.New("rows are refused; nothing was written")})
	}
	if err != nil {
		return faulty(err)
	}
	fmt.Fprintf(out, "Rows written: %d. Rows that were in the records already or stand twice: %d.\n", done.Written, done.Known)
	if len(done.Preview.Refusals) == 0 {
		return nil
	}
	fmt.Fprintln(out, "Refused, and kept as they stand with the reason:")
	return printRefusals(out, done.Preview.Refusals)
}

// look tries the import and writes nothing.
func (c *importCmd) look(ctx context.Context, out io.Writer, desk *training.Desk, by groundhand.Account, meanings []string) error {
	if c.SaveMapping != "" {
		return faulty(groundhand.Invalid("saveMapping", "A preview writes nothing; save the mapping with the import."))
	}
	file, err := os.Open(c.File)
	if err != nil {
		return err
	}
	defer file.Close()
	seen, err := desk.Preview(ctx, by, c.table(file, meanings))
	if err != nil {
		return faulty(err)
	}
	printColumns(out, seen)
	if c.Preview {
		printStandings(out, seen)
	}
	return printPreview(out, seen)
}

func (c *importCmd) table(body io.Reader, meanings []string) training.ImportFile {
	return training.ImportFile{Name: filepath.Base(c.File), Kind: exchange.Kind(c.Kind), Body: body, Mapping: meanings}
}

// accepted reads which rows are to be written.
func accepted(words string) (training.Accept, error) {
	switch words {
	case "all":
		return training.Accept{All: true}, nil
	case "clean":
		return training.Accept{Clean: true}, nil
	}
	rows, err := rowNumbers(words)
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
