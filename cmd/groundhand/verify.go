package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"groundhand/internal/ledger"
	"groundhand/internal/store"
)

// verifyCmd proves that nothing in a file of records was changed past the program.
type verifyCmd struct {
	DB         string `name:"db" default:"groundhand.db" env:"GROUNDHAND_DB" help:"File of the records, or a copy of it."`
	Checkpoint string `help:"A checkpoint that was kept: the log must have begun as it says."`
	KeyOf      string `help:"File with the checking key of the log; without it the text beside the checkpoint, then the key beside the records."`
}

// Run ends with 0 when all is as it was logged, with 1 when something is not, with 2 when it cannot be told.
func (c *verifyCmd) Run() error { return c.run(os.Stdout) }

func (c *verifyCmd) run(out io.Writer) error {
	against, err := c.checkpoint()
	if err != nil {
		return err
	}
	v, err := verified(c.DB, against)
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "Log:     %s\nEntries: %d\nRoot:    %s\n", v.Origin, v.Size, v.Root)
	if v.Misfit != nil {
		fmt.Fprintf(out, "\n%s\n%s\n", misfitWords(*v.Misfit), misfitAdvice(v.Misfit.What))
		return &exitError{exitFailed, errors.New("the records are not what was logged")}
	}
	fmt.Fprintln(out, "\nEvery record is what was logged, and every entry of the log has its record.")
	if against != nil {
		fmt.Fprintf(out, "The first %d entries are those of the checkpoint.\n", against.Size)
		return nil
	}
	fmt.Fprintln(out, "No checkpoint was given: a log that was made anew as a whole, or cut off at its end with its records, is found only with one that was kept elsewhere.")
	return nil
}

// checkpoint reads the checkpoint that was kept; nil when none is given.
func (c *verifyCmd) checkpoint() (*ledger.Checkpoint, error) {
	if c.Checkpoint == "" {
		return nil, nil
	}
	signed, err := os.ReadFile(c.Checkpoint)
	if err != nil {
		return nil, &exitError{exitFaulty, err}
	}
	key, err := c.key()
	if err != nil {
		return nil, &exitError{exitFaulty, err}
	}
	kept, err := ledger.Open(signed, key)
	switch {
	case errors.Is(err, ledger.ErrOtherKey):
		return nil, &exitError{exitFailed, fmt.Errorf("%s is not signed by the key of this log: it was changed, or is another log's; ask who gave it to you", c.Checkpoint)}
	case err != nil:
		return nil, &exitError{exitFaulty, fmt.Errorf("%s: %w", c.Checkpoint, err)}
	}
	return &kept, nil
}

// key finds the checking key. The text that was kept with the checkpoint goes before the file that lies with the records.
func (c *verifyCmd) key() (string, error) {
	places := []string{besideCheckpoint(c.Checkpoint), besideRecords(c.DB)}
	if c.KeyOf != "" {
		places = []string{c.KeyOf}
	}
	for _, name := range places {
		text, err := os.ReadFile(name)
		if errors.Is(err, os.ErrNotExist) && c.KeyOf == "" {
			continue
		}
		if err != nil {
			return "", err
		}
		if key := ledger.CheckingKey(string(text)); key != "" {
			return key, nil
		}
		return "", fmt.Errorf("%s holds no checking key of a log", name)
	}
	return "", errors.New("the key that the checkpoint is checked with is not there; name a file that holds it with --key-of")
}

// verified checks a file of records, which is opened for reading only.
func verified(db string, against *ledger.Checkpoint) (v store.Verified, err error) {
	err = readingLog(db, func(ctx context.Context, records *store.Store) error {
		v, err = records.Verify(ctx, against)
		return err
	})
	return v, err
}

// readingLog does something with records that are opened for reading only.
func readingLog(db string, do func(ctx context.Context, records *store.Store) error) error {
	if _, err := os.Stat(db); err != nil {
		return &exitError{exitFaulty, fmt.Errorf("there are no records at %s; name the file with --db", db)}
	}
	records, err := store.Open(db, store.Options{Now: time.Now, ReadOnly: true})
	if err != nil {
		return &exitError{exitFaulty, err}
	}
	err = errors.Join(do(context.Background(), records), records.Close())
	if known := (*exitError)(nil); err != nil && !errors.As(err, &known) {
		return &exitError{exitFaulty, fmt.Errorf("%s cannot be checked: %w", db, err)}
	}
	return err
}

// misfitWords says what is wrong, as a sentence.
func misfitWords(m store.Misfit) string {
	entry := fmt.Sprintf("Entry %d of the log, %s %q,", m.N, m.Kind, m.ID)
	switch m.What {
	case store.EntryChanged:
		return entry + " was changed after it was recorded" + changedWords(m)
	case store.EntryRemoved:
		return entry + " is no longer among the records."
	case store.EntryUnlogged:
		return fmt.Sprintf("The record %q among the %s is in no entry of the log: it was put in past the program, or its entry was taken away.", m.ID, m.Kind)
	case store.EntriesSwapped:
		return entry + fmt.Sprintf(" says what %q said when it was recorded: the two were swapped.", m.Other)
	case store.LeafRemoved:
		if m.ID == "" {
			return fmt.Sprintf("Entry %d was taken out of the log.", m.N)
		}
		return fmt.Sprintf("Entry %d was taken out of the log; the record %q among the %s has none.", m.N, m.ID, m.Kind)
	case store.LeafOutOfOrder:
		return entry + fmt.Sprintf(" stands in the log at the place of %q.", m.Other)
	case store.HashWrong:
		return entry + " fits its record, but not the entries before it: entries were taken out, put in or moved before this one."
	case store.LogShorter:
		return fmt.Sprintf("The log has %d entries, fewer than the checkpoint says: it was cut off.", m.N)
	case store.LogRewritten:
		return fmt.Sprintf("The first %d entries are not those of the checkpoint: what was recorded before it was written anew.", m.N)
	case store.OtherLog:
		return fmt.Sprintf("The checkpoint is of another log, %s.", m.Other)
	}
	return entry + " does not fit."
}

func changedWords(m store.Misfit) string {
	switch {
	case m.Column == "":
		return "; what exactly cannot be told."
	case m.Was == "":
		return fmt.Sprintf(", in the column %s.", m.Column)
	}
	return fmt.Sprintf(", in the column %s: it was recorded as %q.", m.Column, m.Was)
}

// misfitAdvice says what to do.
func misfitAdvice(what store.MisfitKind) string {
	if what == store.OtherLog {
		return "Take the checkpoint that belongs to these records."
	}
	return "Keep this file as it is, work on a copy, and compare with the last copy that verifies. What rests on this entry, and on those after it, is to be asked about before anybody relies on it."
}
