package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"os/signal"
	"sync"
	"syscall"
)

// serveCmd is the service over a file of records.
type serveCmd struct {
	recordsFlags
	Addr    string `default:"127.0.0.1:8470" env:"GROUNDHAND_ADDR" help:"Address to answer on. Anything but loopback needs a proxy with TLS in front."`
	Issuer  string `default:"The employer" env:"GROUNDHAND_ISSUER" help:"Name of the employer, printed on certificates."`
	Address string `default:"http://127.0.0.1:8470/certificates/" env:"GROUNDHAND_CHECK_ADDRESS" help:"Address under which certificates are checked, printed on them with their number."`
}

// Run answers until it is interrupted, and keeps watch: days missed while it was down are swept at the start.
func (c *serveCmd) Run() error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	log := slog.New(slog.NewTextHandler(os.Stderr, nil))
	listener, err := net.Listen("tcp", c.Addr)
	if err != nil {
		return err
	}
	h, err := c.begin(c.Issuer, c.Address)
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	fmt.Printf("Answering on http://%s with the records in %s. Stop with Ctrl-C.\n", listener.Addr(), c.DB)
	return h.keep(ctx, listener, log)
}

// keep serves, watches and plans until the context ends or serving fails, then closes the records.
func (h *house) keep(ctx context.Context, listener net.Listener, log *slog.Logger) error {
	ctx, stop := context.WithCancel(ctx)
	var watching sync.WaitGroup
	watching.Go(func() { h.sweeper.Run(ctx, log) })
	watching.Go(func() { h.desk.Planner().Run(ctx, log) })
	err := h.serve(ctx, listener, log)
	stop()
	watching.Wait()
	return errors.Join(err, h.close())
}
