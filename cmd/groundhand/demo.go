package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"
	"time"

	"golang.org/x/term"

	"groundhand/internal/demo"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/rotation"
	"groundhand/internal/store"
	"groundhand/internal/web"
)

// demoCmd plays an invented company and answers the questions of one evening.
type demoCmd struct {
	Once bool   `help:"Stop after the answers; serve nothing."`
	Into string `type:"path" placeholder:"DIR" help:"Folder for records, plan, problem and certificates; a fresh temporary one if left out."`
	Addr string `default:"127.0.0.1:8470" help:"Address to answer on afterwards."`

	PublicAddr string `name:"public-addr" default:"127.0.0.1:8471" help:"Address on which the pages that check certificates are served afterwards. Empty: none."`
}

// The demonstration is the same every time: one seed for the play, a fixed number of rounds for the rotation.
const (
	demoSeed    = 612
	demoRounds  = 1500
	demoIssuer  = "Halverra Lines (invented)"
	demoAddress = "https://records.halverra.example" // nobody's
)

// Run plays, answers on the terminal and serves until it is interrupted.
func (c *demoCmd) Run() error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	dir, err := c.folder()
	if err != nil {
		return err
	}
	var open listeners
	if !c.Once { // before the play: an address in use is told at once
		if open, err = listen(c.Addr, c.PublicAddr); err != nil {
			return err
		}
	}
	stage, h, err := openStage(dir)
	if err != nil {
		return errors.Join(err, open.close())
	}
	if err := c.tell(ctx, os.Stdout, stage, h, dir); err != nil {
		return errors.Join(err, open.close(), h.close())
	}
	if c.Once {
		return h.close()
	}
	fmt.Printf("Answering on http://%s from here on, with the clock running. Stop with Ctrl-C.\n", open.house.Addr())
	if open.public != nil {
		fmt.Printf("Certificates are checked on http://%s/verify, in the place of %s.\n", open.public.Addr(), demoAddress)
	}
	log := slog.New(slog.NewTextHandler(os.Stderr, nil))
	open.pages = web.New(h.certificates, log, web.Options{Now: stage.Clock.Now}) // the day of the records, like every verdict on the page
	stage.Clock.Follow(time.Now)
	return h.keep(ctx, open, log)
}

// Names of the files in the folder.
const (
	recordsName      = "groundhand.db"
	certificatesName = "certificates.zip"
	packName         = "client-pack.zip"
	keysName         = "keys"
)

// Problems and plans, in the order of the rotations.
var (
	problemNames = []string{"problem.json", "problem-lone.json"}
	planNames    = []string{"plan.json", "plan-lone.json"}
)

// folder makes the folder. Records or keys that stand there already are never touched.
func (c *demoCmd) folder() (string, error) {
	if c.Into == "" {
		return os.MkdirTemp("", "groundhand-demo-")
	}
	for _, there := range []struct{ what, name string }{{"records", recordsName}, {"signing keys", keysName}} {
		if _, err := os.Lstat(filepath.Join(c.Into, there.name)); err == nil {
			return "", &exitError{exitFaulty, fmt.Errorf("there are %s in %s already; the demonstration needs a folder without a %s, so name another one",
				there.what, c.Into, there.name)}
		}
	}
	return c.Into, os.MkdirAll(c.Into, 0o755)
}

// openStage opens fresh records in a folder that take clock, identifiers and keys from the play.
func openStage(dir string) (demo.Stage, *house, error) {
	zone, err := time.LoadLocation(demo.Zone)
	if err != nil {
		return demo.Stage{}, nil, err
	}
	clock, ids := demo.NewClock(demo.Evening(zone)), &demo.IDs{}
	signs, err := signsAs(dir)
	if err != nil {
		return demo.Stage{}, nil, err
	}
	records, err := store.Open(filepath.Join(dir, recordsName), store.Options{Now: clock.Now, NewID: ids.New})
	if err != nil {
		return demo.Stage{}, nil, err
	}
	h := furnish(records, zone, signs)
	return demo.Stage{Desk: h.desk, Door: h.door, OpenReview: h.roll.OpenReviewOf, CertificateOf: h.roll.CertificateOf, Certificates: h.certificates, Clock: clock, IDs: ids,
		Zone: zone, Seed: demoSeed}, h, nil
}

// tell plays and prints the evening, then where things are.
func (c *demoCmd) tell(ctx context.Context, out io.Writer, stage demo.Stage, h *house, dir string) error {
	fmt.Fprintf(out, "An invented company, played into %s\n\n", dir)
	cast, err := h.play(ctx, stage)
	if err != nil {
		return err
	}
	e, err := h.evening(ctx, cast)
	if err != nil {
		return err
	}
	if err := e.keepFiles(dir); err != nil {
		return err
	}
	if _, err := io.WriteString(out, e.page()); err != nil {
		return err
	}
	_, err = io.WriteString(out, keysPage(cast, dir))
	return err
}

// play plays the company to its evening.
func (h *house) play(ctx context.Context, stage demo.Stage) (demo.Cast, error) {
	shown := newPlayed(os.Stderr)
	defer shown.end()
	stage.Told = shown.show
	return demo.Play(ctx, stage)
}

// evening asks everything the page shows. What is written on the way, flags, plan and certificates, is written as on any other evening.
func (h *house) evening(ctx context.Context, cast demo.Cast) (*evening, error) {
	today := h.roll.Today()
	e := &evening{at: h.records.Now().In(h.roll.Zone()), zone: h.roll.Zone()}
	swept, err := h.sweeper.Sweep(ctx, today, false)
	if err != nil {
		return nil, err
	}
	e.raised = swept.Raised
	if e.today, err = h.roll.Company(ctx, today); err != nil {
		return nil, err
	}
	if e.tomorrow, err = h.roll.Company(ctx, today+1); err != nil {
		return nil, err
	}
	from, to := groundhand.InstantOf((today + 1).Start(e.zone)), groundhand.InstantOf((today + 1).End(e.zone))
	if e.jobs, err = h.jobsWithChanges(ctx, from, to, rollcall.LooksByDay); err != nil {
		return nil, err
	}
	if e.handed, err = h.handOut(ctx, cast); err != nil {
		return nil, err
	}
	if e.suggested, err = h.rotations(ctx, cast); err != nil {
		return nil, err
	}
	if e.booked, err = h.nextDrills(ctx); err != nil {
		return nil, err
	}
	if e.ahead, err = h.lookAhead(ctx, cast); err != nil {
		return nil, err
	}
	if e.belief, err = h.belief(ctx, cast); err != nil {
		return nil, err
	}
	e.names, err = h.records.NamesOn(ctx, nil, today)
	return e, err
}

// rotations suggests the drills to come.
func (h *house) rotations(ctx context.Context, cast demo.Cast) ([]suggested, error) {
	var out []suggested
	for _, form := range demo.Rotations(cast) {
		form.Rounds = demoRounds
		kept, err := h.desk.SuggestRotation(ctx, cast.Account(groundhand.Coordinator), "rotation "+form.Name, form)
		if err != nil {
			return nil, err
		}
		problem, err := rotation.Decode([]byte(kept.Problem))
		if err != nil {
			return nil, err
		}
		var plan rotation.Plan // with the bound and the reasons, which only the planner's own plans have
		if err := json.Unmarshal([]byte(kept.Result), &plan); err != nil {
			return nil, err
		}
		out = append(out, suggested{kept, problem, plan})
	}
	return out, nil
}

// nextDrills gives the day of the next booked session of everybody who has one.
func (h *house) nextDrills(ctx context.Context) (map[groundhand.WorkerID]groundhand.Date, error) {
	now := h.records.Now()
	sessions, err := h.records.SessionsBetween(ctx, now, groundhand.InstantOf(now.Time().AddDate(1, 0, 0)))
	if err != nil {
		return nil, err
	}
	days, ids := map[groundhand.SessionID]groundhand.Date{}, []groundhand.SessionID{}
	for _, s := range sessions {
		days[s.ID], ids = groundhand.DateOf(s.StartAt.In(h.roll.Zone())), append(ids, s.ID)
	}
	bookings, err := store.FindStanding[groundhand.Booking](ctx, h.records, store.BySession, ids)
	out := map[groundhand.WorkerID]groundhand.Date{}
	for _, b := range bookings {
		if day, there := out[b.WorkerID]; !there || days[b.SessionID] < day {
			out[b.WorkerID] = days[b.SessionID]
		}
	}
	return out, err
}

// keepFiles writes problem, plan and certificates beside the records.
func (e *evening) keepFiles(dir string) error {
	for i, s := range e.suggested {
		if err := writeOut(filepath.Join(dir, problemNames[i]), []byte(s.kept.Problem+"\n")); err != nil {
			return err
		}
		if err := writeOut(filepath.Join(dir, planNames[i]), []byte(s.kept.Result+"\n")); err != nil {
			return err
		}
	}
	return e.handed.keep(dir)
}

// played shows on a terminal how far the play is; a quick one and a pipe stay quiet.
type played struct {
	to             io.Writer
	started, shown time.Time
}

func newPlayed(file *os.File) *played {
	p := &played{started: time.Now()}
	if term.IsTerminal(int(file.Fd())) {
		p.to = file
	}
	return p
}

func (p *played) show(done, all int) {
	now := time.Now()
	if p.to == nil || now.Sub(p.started) < time.Second || now.Sub(p.shown) < time.Second/4 {
		return
	}
	p.shown = now
	fmt.Fprintf(p.to, "\r\033[Kplaying eighteen months: %d of %d acts", done, all)
}

func (p *played) end() {
	if p.to != nil && !p.shown.IsZero() {
		fmt.Fprint(p.to, "\r\033[K")
	}
}
