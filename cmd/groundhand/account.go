package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"text/tabwriter"

	"groundhand/internal/certificate"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// accountCmd is about who may use the service.
type accountCmd struct {
	Add    accountAddCmd    `cmd:"" help:"Add an account and print its token once."`
	List   accountListCmd   `cmd:"" help:"List the accounts."`
	Revoke accountRevokeCmd `cmd:"" help:"Revoke the tokens of an account; the account stays."`
}

type accountAddCmd struct {
	recordsFlags
	Name   string `required:"" help:"Name of the account."`
	Role   string `required:"" enum:"COORDINATOR,DISPATCHER,HR,ASSESSOR,INSPECTOR,AUDITOR,FOREMAN,WORKER" help:"Capacity: ${enum}."`
	Worker string `help:"Staff number of the worker it belongs to; what it enters bears that worker's name."`
}

// Run prints the token, which is shown this once: only its digest is kept. It begins new records where there are none.
func (c *accountAddCmd) Run() error {
	h, err := c.begin(certificate.Options{})
	if err != nil {
		return err
	}
	return errors.Join(faulty(c.add(context.Background(), h)), h.close())
}

func (c *accountAddCmd) add(ctx context.Context, h *house) error {
	worker, err := h.workerNumbered(ctx, c.Worker)
	if err != nil {
		return err
	}
	account, token, err := h.door.AddAccount(ctx, c.Name, groundhand.Capacity(c.Role), worker)
	if err != nil {
		return err
	}
	fmt.Printf("Account %s (%s) added. Its token, shown this once:\n%s\n", account.Name, account.Capacity, token)
	return nil
}

// workerNumbered is the worker with a staff number; nobody for no number.
func (h *house) workerNumbered(ctx context.Context, number string) (groundhand.WorkerID, error) {
	if number == "" {
		return "", nil
	}
	found, err := store.Find[groundhand.Worker](ctx, h.records, store.ByNumber, []string{number})
	if err != nil {
		return "", err
	}
	if len(found) != 1 {
		return "", groundhand.NotFound("--worker", "No worker has the staff number %q.", number)
	}
	return found[0].ID, nil
}

type accountListCmd struct{ recordsFlags }

// Run lists names and capacities.
func (c *accountListCmd) Run() error {
	return c.with(func(ctx context.Context, h *house) error {
		all, err := store.All[groundhand.Account](ctx, h.records)
		if err != nil {
			return err
		}
		out := tabwriter.NewWriter(os.Stdout, 0, 4, 2, ' ', 0)
		for _, a := range all {
			fmt.Fprintf(out, "%s\t%s\t%s\n", a.Name, a.Capacity, a.ID)
		}
		return out.Flush()
	})
}

type accountRevokeCmd struct {
	recordsFlags
	Name string `required:"" help:"Name of the account."`
}

// Run revokes every good token of the account.
func (c *accountRevokeCmd) Run() error {
	return c.withAs(c.Name, func(ctx context.Context, h *house, account groundhand.Account) error {
		n, err := h.door.Revoke(ctx, account.ID)
		if err != nil {
			return err
		}
		fmt.Printf("Tokens revoked: %d.\n", n)
		return nil
	})
}

// accountNamed finds the one account with a name. Whoever can open the file of the records needs no token to say who they are.
func accountNamed(ctx context.Context, s *store.Store, name string) (groundhand.Account, error) {
	accounts, err := store.All[groundhand.Account](ctx, s)
	if err != nil {
		return groundhand.Account{}, err
	}
	var found []groundhand.Account
	for _, a := range accounts {
		if a.Name == name {
			found = append(found, a)
		}
	}
	if len(found) != 1 {
		return groundhand.Account{}, &exitError{exitFaulty, fmt.Errorf("%d accounts have the name %q; name one", len(found), name)}
	}
	return found[0], nil
}
