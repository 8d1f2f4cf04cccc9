package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"sync"
	"syscall"
	"time"

	"groundhand/internal/web"
)

// serveCmd is the service over a file of records.
type serveCmd struct {
	issuingFlags
	Addr       string `default:"127.0.0.1:8470" env:"GROUNDHAND_ADDR" help:"Address to answer on. Anything but loopback needs a proxy with TLS in front."`
	PublicAddr string `name:"public-addr" default:"127.0.0.1:8471" env:"GROUNDHAND_PUBLIC_ADDR" help:"Address on which the pages that check certificates are served, for the proxy of the public address; used with --public. Empty: none."`

	AddressHeader string `env:"GROUNDHAND_ADDRESS_HEADER" placeholder:"HEADER" help:"Header in which the proxy of the public address tells the visitor's address, as X-Real-IP. Only behind a proxy that sets it."`
}

// Run answers until it is interrupted, and keeps watch: days missed while it was down are swept at the start.
func (c *serveCmd) Run() error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	log := slog.New(slog.NewTextHandler(os.Stderr, nil))
	listeners, err := c.listen()
	if err != nil {
		return err
	}
	h, err := c.beginIssuing()
	if err != nil {
		return errors.Join(err, listeners.close())
	}
	if err := h.readyToSign(ctx, log); err != nil {
		return errors.Join(faulty(err), h.close(), listeners.close())
	}
	fmt.Printf("Answering on http://%s with the records in %s. Stop with Ctrl-C.\n", listeners.house.Addr(), c.DB)
	if listeners.public != nil {
		fmt.Printf("Certificates are checked on http://%s; the proxy of %s passes /verify, /status and /.well-known/did.json on to it.\n", listeners.public.Addr(), c.Public)
	}
	listeners.pages = web.New(h.certificates, log, web.Options{AddressHeader: c.AddressHeader, Now: time.Now})
	return h.keep(ctx, listeners, log)
}

// listeners are the doors of the service: its own, and the one that is open to the world, on which nothing but the check of certificates is.
type listeners struct {
	house, public net.Listener // public is nil without a public address
	pages         http.Handler
}

func (c *serveCmd) listen() (listeners, error) {
	if c.Public == "" {
		return listen(c.Addr, "")
	}
	return listen(c.Addr, c.PublicAddr)
}

// listen opens the doors; without an address for the public one that stays shut.
func listen(house, public string) (l listeners, err error) {
	if l.house, err = net.Listen("tcp", house); err != nil || public == "" {
		return l, err
	}
	if l.public, err = net.Listen("tcp", public); err != nil {
		return l, errors.Join(err, l.house.Close())
	}
	return l, nil
}

// close closes what is open.
func (l listeners) close() (err error) {
	for _, door := range []net.Listener{l.house, l.public} {
		if door != nil {
			err = errors.Join(err, door.Close())
		}
	}
	return err
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
func (h *house) keep(ctx context.Context, l listeners, log *slog.Logger) error {
	ctx, stop := context.WithCancel(ctx)
	var watching sync.WaitGroup
	watching.Go(func() { h.sweeper.Run(ctx, log) })
	watching.Go(func() { h.desk.Planner().Run(ctx, log) })
	var public error
	if l.public != nil {
		watching.Go(func() {
			public = serveOn(ctx, web.Server(l.pages, log), l.public)
			stop() // one door does not stay open without the other
		})
	}
	err := h.serve(ctx, l.house, log)
	stop()
	watching.Wait()
	return errors.Join(err, public, h.close())
}
