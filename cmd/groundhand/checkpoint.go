package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"

	"groundhand/internal/ledger"
	"groundhand/internal/store"
)

// checkpointCmd signs how far the log has come, for somebody to keep elsewhere.
type checkpointCmd struct {
	DB  string `name:"db" default:"groundhand.db" env:"GROUNDHAND_DB" help:"File of the records."`
	Out string `required:"" help:"File to write the checkpoint to; beside it a text with the key that checks it."`
}

// besideRecords is where the key of the log of a file of records is kept.
func besideRecords(db string) string { return db + ".logkey" }

// besideCheckpoint is where the text that goes with a checkpoint is written.
func besideCheckpoint(checkpoint string) string { return checkpoint + ".txt" }

// Run checks the log first: what does not verify is not signed.
func (c *checkpointCmd) Run() error { return c.run(os.Stdout) }

func (c *checkpointCmd) run(out io.Writer) error {
	var told ledger.Checkpoint
	err := readingLog(c.DB, func(ctx context.Context, records *store.Store) error {
		v, err := records.Verify(ctx, nil)
		if err == nil && v.Misfit != nil {
			return &exitError{exitFailed, errors.New("no checkpoint is written: " + misfitWords(*v.Misfit))}
		}
		told = ledger.Checkpoint{Origin: v.Origin, Size: v.Size, Root: v.Root}
		return err
	})
	if err != nil {
		return err
	}
	signing, checking, err := logKeys(besideRecords(c.DB), told.Origin)
	if err != nil {
		return &exitError{exitFaulty, err}
	}
	signed, err := ledger.Sign(told, signing)
	if err != nil {
		return &exitError{exitFaulty, fmt.Errorf("%s: %w", besideRecords(c.DB), err)}
	}
	if err := errors.Join(writeOut(c.Out, signed), writeOut(besideCheckpoint(c.Out), companion(told, checking))); err != nil {
		return err
	}
	fmt.Fprintf(out, "Checkpoint of %d entries written to %s.\nIt is checked with this key, written to %s too; keep both away from these records:\n%s\n",
		told.Size, c.Out, besideCheckpoint(c.Out), checking)
	return nil
}

// companion is the text that goes with a checkpoint.
func companion(c ledger.Checkpoint, checking string) []byte {
	return fmt.Appendf(nil, `Checkpoint of the log %s at %d entries.

Keep the checkpoint and this text away from the records they are about. At any later time,

  groundhand verify --db FILE --checkpoint CHECKPOINT --key-of THIS-FILE

tells whether one of these entries was changed, removed or put in since. The key that checks the signature:

%s
`, c.Origin, c.Size, checking)
}

// logKeys reads the keys of a log from a file that only its owner may read, and makes them on first use.
func logKeys(name, origin string) (signing, checking string, err error) {
	info, err := os.Stat(name)
	if errors.Is(err, os.ErrNotExist) {
		return newLogKeys(name, origin)
	}
	if err != nil {
		return "", "", err
	}
	if info.Mode().Perm()&0o077 != 0 {
		return "", "", fmt.Errorf("others than its owner may read %s, so a signature with it proves nothing; take their rights away (chmod 600) if you are sure that nobody did", name)
	}
	text, err := os.ReadFile(name)
	if err != nil {
		return "", "", err
	}
	signing, checking = ledger.SigningKey(string(text)), ledger.CheckingKey(string(text))
	if signing == "" || checking == "" {
		return "", "", fmt.Errorf("%s does not hold the two keys of a log", name)
	}
	return signing, checking, nil
}

func newLogKeys(name, origin string) (signing, checking string, err error) {
	signing, checking, err = ledger.MakeKey(rand.Reader, origin)
	if err != nil {
		return "", "", err
	}
	file, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return "", "", err
	}
	_, err = fmt.Fprintf(file, "%s\n%s\n", signing, checking)
	return signing, checking, errors.Join(err, file.Sync(), file.Close())
}
