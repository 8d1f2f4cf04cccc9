package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"text/tabwriter"
	"time"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// keyCmd is about the keys that certificates are signed with. The first one is made when the service starts.
type keyCmd struct {
	List     keyListCmd     `cmd:"" help:"List the keys: which one signs, which are announced, retired or stolen."`
	Announce keyAnnounceCmd `cmd:"" help:"Make the next key and publish it; it does not sign yet."`
	Change   keyChangeCmd   `cmd:"" help:"Have the announced key sign from now on; the one before is retired, its file destroyed."`
	Stolen   keyStolenCmd   `cmd:"" help:"End a key that somebody else may have, and issue everything under it anew."`
}

type keyListCmd struct{ issuingFlags }

var keyWords = map[groundhand.KeyState]string{
	groundhand.KeyAnnounced: "announced, does not sign yet", groundhand.KeyActive: "signs", groundhand.KeyRetired: "retired, what it signed is good",
	groundhand.KeyCompromised: "stolen, nothing under it is good",
}

// Run lists the public parts; a private one is never shown.
func (c *keyListCmd) Run() error {
	if err := c.there(); err != nil {
		return err
	}
	h, err := c.beginIssuing()
	if err != nil {
		return err
	}
	ctx := context.Background()
	keys, err := h.certificates.Keys(ctx)
	if err != nil {
		return errors.Join(faulty(err), h.close())
	}
	out := tabwriter.NewWriter(os.Stdout, 0, 4, 2, ' ', 0)
	fmt.Fprintln(out, "Key\tState\tSince\tCertificates\tFile\tIssuer")
	for _, k := range keys {
		file := "none"
		if k.Held {
			file = "there"
		}
		fmt.Fprintf(out, "%s\t%s\t%s\t%d\t%s\t%s\n", k.ID, keyWords[k.State], k.ChangedAt.In(h.roll.Zone()).Format(time.DateOnly), k.Certificates, file, k.IssuerID)
	}
	err = out.Flush()
	if trouble := h.certificates.Trouble(ctx); trouble != nil {
		fmt.Printf("\nNothing can be signed now. %s\n", trouble)
	}
	return errors.Join(err, h.close())
}

type keyAnnounceCmd struct {
	issuingFlags
	As string `required:"" help:"Name of the account that keeps the keys; a coordinator's."`
}

// Run makes a key that does not sign yet.
func (c *keyAnnounceCmd) Run() error {
	return c.issuing(c.As, func(ctx context.Context, h *house, by groundhand.Account) error {
		key, err := h.certificates.AnnounceKey(ctx, by)
		if err != nil {
			return err
		}
		fmt.Printf("Key %s is announced for %s.\nBack up the folder %s, wait a day until everybody who checks certificates has seen it, then: groundhand key change.\n",
			key.ID, key.IssuerID, c.keysFolder())
		return nil
	})
}

type keyChangeCmd struct {
	issuingFlags
	As string `required:"" help:"Name of the account that keeps the keys; a coordinator's."`
}

// Run has the announced key sign.
func (c *keyChangeCmd) Run() error {
	return c.issuing(c.As, func(ctx context.Context, h *house, by groundhand.Account) error {
		key, err := h.certificates.ChangeKey(ctx, by)
		if err != nil {
			return err
		}
		fmt.Printf("Key %s signs from now on. What was signed before stays good. Destroy the backup of the file of the key before.\n", key.ID)
		return nil
	})
}

type keyStolenCmd struct {
	issuingFlags
	Key      string `arg:"" help:"The key, as groundhand key list shows it."`
	As       string `required:"" help:"Name of the account that keeps the keys; a coordinator's."`
	Because  string `required:"" help:"What happened; kept with the entry, and as the reason of each certificate that is replaced."`
	Rehearse bool   `help:"Do it all on a copy of the records with a folder of keys of its own, say what would come of it, and change nothing."`
}

// Run ends the key, or rehearses it.
func (c *keyStolenCmd) Run() error {
	if c.Rehearse {
		return c.rehearse()
	}
	return c.issuing(c.As, c.end)
}

func (c *keyStolenCmd) end(ctx context.Context, h *house, by groundhand.Account) error {
	done, err := h.certificates.KeyStolen(ctx, by, c.Key, c.Because)
	if err != nil && done.NewKey == "" {
		return err
	}
	fmt.Printf("Key %s is out of the published document.\nCertificates issued anew: %d. Withdrawn, because they could not be: %d.\n", c.Key, done.Reissued, done.Withdrawn)
	if done.NewKey != "" {
		fmt.Printf("Key %s signs from now on.\n", done.NewKey)
	}
	if c.Rehearse {
		return err
	}
	fmt.Println("Export the new certificates and give them to everybody who holds an old one; destroy every backup of the stolen file.")
	return err
}

// rehearse works beside the records, where a copy is as safe as they are, and leaves nothing behind.
func (c *keyStolenCmd) rehearse() error {
	if err := c.there(); err != nil {
		return err
	}
	scratch, err := os.MkdirTemp(filepath.Dir(c.DB), ".rehearsal-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(scratch)
	copied := *c
	copied.DB = filepath.Join(scratch, "records.db")
	if err := store.Copy(context.Background(), c.DB, copied.DB); err != nil {
		return err
	}
	copied.Keys = filepath.Join(scratch, "keys")
	fmt.Println("A rehearsal on a copy: nothing is changed, and every key named here is thrown away.")
	return copied.issuing(c.As, func(ctx context.Context, h *house, by groundhand.Account) error {
		if err := standIn(ctx, h, by, c.Key); err != nil {
			return err
		}
		return copied.end(ctx, h, by)
	})
}

// standIn has, in a rehearsal of the theft of a key that does not sign, another key sign: the real one is not taken along.
func standIn(ctx context.Context, h *house, by groundhand.Account, stolen string) error {
	keys, err := h.certificates.Keys(ctx)
	if err != nil {
		return err
	}
	for _, k := range keys {
		if k.ID == stolen && k.State != groundhand.KeyRetired {
			return nil
		}
	}
	if _, err := h.certificates.AnnounceKey(ctx, by); err != nil {
		return err
	}
	_, err = h.certificates.ChangeKey(ctx, by)
	return err
}
