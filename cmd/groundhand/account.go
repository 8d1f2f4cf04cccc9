package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"text/tabwriter"

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

// Run prints the token, which is shown this once: only its digest is kept.
func (c *accountAddCmd) Run() (err error) {
	ctx := context.Background()
	h, err := c.begin("", "")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.close()) }()
	var worker groundhand.WorkerID
	if c.Worker != "" {
		found, err := store.Find[groundhand.Worker](ctx, h.records, store.ByNumber, []string{c.Worker})
		if err != nil {
			return err
		}
		if len(found) != 1 {
			return &exitError{exitFaulty, fmt.Errorf("no worker has the staff number %q", c.Worker)}
		}
		worker = found[0].ID
	}
	account, token, err := h.door.AddAccount(ctx, c.Name, groundhand.Capacity(c.Role), worker)
	if err != nil {
		return faulty(err)
	}
	fmt.Printf("Account %s (%s) added. Its token, shown this once:\n%s\n", account.Name, account.Capacity, token)
	return nil
}

type accountListCmd struct{ recordsFlags }

// Run lists names and capacities.
func (c *accountListCmd) Run() (err error) {
	h, err := c.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.close()) }()
	all, err := store.All[groundhand.Account](context.Background(), h.records)
	if err != nil {
		return err
	}
	out := tabwriter.NewWriter(os.Stdout, 0, 4, 2, ' ', 0)
	for _, a := range all {
		fmt.Fprintf(out, "%s\t%s\t%s\n", a.Name, a.Capacity, a.ID)
	}
	return out.Flush()
}

type accountRevokeCmd struct {
	recordsFlags
	Name string `required:"" help:"Name of the account."`
}

// Run revokes every good token of the account.
func (c *accountRevokeCmd) Run() (err error) {
	ctx := context.Background()
	h, err := c.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.close()) }()
	account, err := accountNamed(ctx, h.records, c.Name)
	if err != nil {
		return err
	}
	n, err := h.door.Revoke(ctx, account.ID)
	if err != nil {
		return err
	}
	fmt.Printf("Tokens revoked: %d.\n", n)
	return nil
}
