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
	issuingFlags
	Addr       string `default:"127.0.0.1:8470" env:"GROUNDHAND_ADDR" help:"Address to answer on. Anything but loopback needs a proxy with TLS in front."`
	PublicAddr string `default:"127.0.0.1:8471" env:"GROUNDHAND_PUBLIC_ADDR" help:"Address on which the pages that check certificates are served, for the proxy of the public address; used with --public. Empty: none."`
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
	h, err := c.beginIssuing()
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	if err := h.readyToSign(ctx, log); err != nil {
		return errors.Join(faulty(err), h.close(), listener.Close())
	}
	fmt.Printf("Answering on http://%s with the records in %s. Stop with Ctrl-C.\n", listener.Addr(), c.DB)
	return h.keep(ctx, listener, log)
}

// readyToSign makes the first key and says loudly when nothing can be signed; everything else works without.
func (h *house) readyToSign(ctx context.Context, log *slog.Logger) error {
	if err := h.certificates.Begin(ctx); err != nil {
		return err
	}
	if trouble := h.certificates.Trouble(ctx); trouble != nil {
		log.ErrorContext(ctx, "NO CERTIFICATE CAN BE ISSUED, and no list of withdrawn ones published", "why", trouble)
	}
	return nil
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
