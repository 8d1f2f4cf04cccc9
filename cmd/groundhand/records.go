package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"time"

	"groundhand/graph"
	"groundhand/internal/access"
	"groundhand/internal/certificate"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
	"groundhand/internal/training"
	"groundhand/internal/watch"
)

// recordsFlags are the settings of every command that opens the records.
type recordsFlags struct {
	DB   string `name:"db" default:"groundhand.db" env:"GROUNDHAND_DB" help:"File of the records."`
	Zone string `default:"Local" env:"GROUNDHAND_ZONE" help:"Time zone of the local day, such as Europe/Dublin."`
}

// open opens records that are there and wires everything that works on them.
func (f recordsFlags) open() (*house, error) {
	if err := f.there(); err != nil {
		return nil, err
	}
	return f.begin(certificate.Options{})
}

// there refuses a file that is not there, so that a name mistyped does not begin new records.
func (f recordsFlags) there() error {
	if _, err := os.Stat(f.DB); err != nil {
		return &exitError{exitFaulty, fmt.Errorf("there are no records at %s; name the file with --db, or begin one with groundhand account add", f.DB)}
	}
	return nil
}

// with does something with records that are there and closes them. What the records refuse is told with the status for faulty input.
func (f recordsFlags) with(do func(ctx context.Context, h *house) error) error {
	h, err := f.open()
	if err != nil {
		return err
	}
	return errors.Join(faulty(do(context.Background(), h)), h.close())
}

// withAs is with, for what is done in the name of an account.
func (f recordsFlags) withAs(name string, do func(ctx context.Context, h *house, by groundhand.Account) error) error {
	return f.with(func(ctx context.Context, h *house) error {
		by, err := accountNamed(ctx, h.records, name)
		if err != nil {
			return err
		}
		return do(ctx, h, by)
	})
}

// begin opens records, making them when they are not there yet. Without options nothing can be signed.
func (f recordsFlags) begin(o certificate.Options) (*house, error) {
	zone, err := zoneNamed(f.Zone)
	if err != nil {
		return nil, err
	}
	records, err := store.Open(f.DB, store.Options{Now: time.Now})
	if err != nil {
		return nil, err
	}
	return furnish(records, zone, o), nil
}

// house is the wired program over one file of records.
type house struct {
	records      *store.Store
	roll         *rollcall.Roll
	desk         *training.Desk
	door         *access.Door
	certificates *certificate.Issuer
	sweeper      *watch.Sweeper
}

// furnish wires the use cases over open records.
func furnish(records *store.Store, zone *time.Location, o certificate.Options) *house {
	roll := rollcall.New(records, zone)
	h := &house{
		records: records, roll: roll, desk: training.New(records, roll), door: access.NewDoor(records, rand.Reader),
		certificates: certificate.New(records, roll, o), sweeper: watch.New(records, roll),
	}
	h.desk.MoveCertificates(h.certificates.Follow)
	h.desk.AfterCorrections(func(ctx context.Context) {
		if _, err := h.sweeper.After(ctx); err != nil {
			slog.ErrorContext(ctx, "the flags could not be looked at after a correction; the next sweep does it", "error", err)
		}
	})
	return h
}

func (h *house) close() error { return h.records.Close() }

// handler is the service's GraphQL mouth with the streamed files.
func (h *house) handler(log *slog.Logger) http.Handler {
	root := &graph.Root{Store: h.records, Roll: h.roll, Desk: h.desk, Issuer: h.certificates, Door: h.door, Sweeper: h.sweeper}
	return root.Handler(log)
}

// Bounds on one connection, so that a slow or silent client cannot hold it.
const (
	headerTime = 10 * time.Second
	bodyTime   = 2 * time.Minute // an import over a poor line
	replyTime  = 3 * time.Minute // a ZIP of a year's certificates
	idleTime   = 2 * time.Minute
	goodbye    = 10 * time.Second
)

// serve answers on an address until the context ends, then lets the requests under way finish.
func (h *house) serve(ctx context.Context, listener net.Listener, log *slog.Logger) error {
	server := &http.Server{Handler: h.handler(log), ReadHeaderTimeout: headerTime, ReadTimeout: bodyTime, WriteTimeout: replyTime, IdleTimeout: idleTime,
		ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn)}
	return serveOn(ctx, server, listener)
}

// serveOn serves until the context ends, then lets the requests under way finish.
func serveOn(ctx context.Context, server *http.Server, listener net.Listener) error {
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(listener) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), goodbye)
	defer cancel()
	err := server.Shutdown(last)
	if served := <-failed; !errors.Is(served, http.ErrServerClosed) {
		err = errors.Join(err, served)
	}
	return err
}
