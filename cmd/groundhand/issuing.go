package main

import (
	"context"
	"crypto/rand"
	"errors"

	"groundhand/internal/certificate"
	"groundhand/internal/certificate/keyring"
	"groundhand/internal/groundhand"
)

// issuingFlags are the settings of every command that signs, or gives out what is signed.
type issuingFlags struct {
	recordsFlags
	Issuer string `env:"GROUNDHAND_ISSUER" placeholder:"NAME" help:"Name of the employer, as it is signed. Without it nothing is issued."`
	Public string `env:"GROUNDHAND_PUBLIC" placeholder:"ADDRESS" help:"Public https address below which certificates are checked, as https://training.example. Left out, they have no check address and cannot be withdrawn electronically."`
	Keys   string `env:"GROUNDHAND_KEYS" type:"path" placeholder:"FOLDER" help:"Folder of the signing keys, for the service alone (mode 0700); FILE.keys beside the records if left out. Back it up apart from the records."`
}

// keysFolder is where the private keys are: never in the records.
func (f issuingFlags) keysFolder() string {
	if f.Keys != "" {
		return f.Keys
	}
	return f.DB + ".keys"
}

// options opens the folder of keys. One that others can read is refused.
func (f issuingFlags) options(folder string) (certificate.Options, error) {
	ring, err := keyring.Open(folder)
	if err != nil {
		return certificate.Options{}, &exitError{exitFaulty, err}
	}
	return certificate.Options{Name: f.Issuer, Address: f.Public, Keys: ring, Chance: rand.Reader}, nil
}

// beginIssuing opens records, making them when they are not there yet, and the keys with them.
func (f issuingFlags) beginIssuing() (*house, error) {
	o, err := f.options(f.keysFolder())
	if err != nil {
		return nil, err
	}
	return f.begin(o)
}

// issuing does something with records that are there, in the name of an account, with the keys at hand.
func (f issuingFlags) issuing(as string, do func(ctx context.Context, h *house, by groundhand.Account) error) error {
	if err := f.there(); err != nil {
		return err
	}
	h, err := f.beginIssuing()
	if err != nil {
		return err
	}
	ctx := context.Background()
	by, err := accountNamed(ctx, h.records, as)
	if err == nil {
		err = do(ctx, h, by)
	}
	return errors.Join(faulty(err), h.close())
}
