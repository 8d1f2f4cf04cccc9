package audit

import (
	"archive/zip"
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"time"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/ledger"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// PackAsk asks for everything about one crew in a time, as it was known at a moment.
type PackAsk struct {
	CrewID    groundhand.CrewID
	From      groundhand.Date
	Through   groundhand.Date    // included
	AsKnownAt groundhand.Instant // zero: everything that is known
}

// longestPack is the most days of one pack.
const longestPack = 800

// Pack writes a ZIP that can be checked without this program: the entries with both clocks, who signed in which capacity, the looks at kit and
// device, the rules in force with their text, the questions that standings and answers were worked out from, and for each entry its leaf in the
// log with the proof that it is there. The same ask of the same records gives the
// same bytes when it names its moment; the proofs lead to the log as it stands when the pack is written. No health reason is ever in it.
func (a *Auditor) Pack(ctx context.Context, by groundhand.Account, ask PackAsk, w io.Writer) error {
	if err := a.mayPack(by, ask); err != nil {
		return err
	}
	content, err := a.gather(ctx, ask)
	if err != nil {
		return err
	}
	return content.write(w)
}

// PackPeople lists whose records a pack holds, so that the look at them can be noted.
func (a *Auditor) PackPeople(ctx context.Context, by groundhand.Account, ask PackAsk) (who []groundhand.WorkerID, err error) {
	if err := a.mayPack(by, ask); err != nil {
		return nil, err
	}
	p := a.emptyPack(ask)
	err = a.store.InPast(ctx, p.known, func(seen *store.Store) error {
		g := &gathering{Auditor: a.over(seen), ctx: ctx, pack: p}
		if _, err := store.Get[groundhand.Crew](ctx, seen, ask.CrewID); err != nil {
			return err
		}
		err := g.members()
		who = g.workers()
		return err
	})
	return who, err
}

func (a *Auditor) emptyPack(ask PackAsk) *pack {
	return &pack{ask: ask, known: cmp.Or(ask.AsKnownAt, a.store.Now()), files: map[string][]byte{}, people: map[groundhand.WorkerID]bool{}}
}

func (a *Auditor) mayPack(by groundhand.Account, ask PackAsk) error {
	if err := access.May(by, access.Audit); err != nil {
		return err
	}
	var p groundhand.Problems
	checkDays(&p, ask.From, ask.Through)
	if ask.Through-ask.From > longestPack {
		p.Add(groundhand.CodeTooLarge, "through", "A pack holds at most %d days.", longestPack)
	}
	if ask.AsKnownAt < 0 || ask.AsKnownAt > a.store.Now() {
		p.Add(groundhand.CodeInvalid, "asKnownAt", "This lies ahead; nobody knows yet what will be known then.")
	}
	return p.Err()
}

// pack is what goes into a ZIP.
type pack struct {
	ask     PackAsk
	crew    groundhand.Crew
	devices []groundhand.DeviceID
	kits    []groundhand.KitID
	known   groundhand.Instant
	files   map[string][]byte
	entries []filed
	people  map[groundhand.WorkerID]bool
}

// filed is an entry that is in a pack.
type filed struct {
	kind string
	id   groundhand.EntryID
}

// gather reads what was known at the moment, and then the proofs from the log of today, which holds all of it.
func (a *Auditor) gather(ctx context.Context, ask PackAsk) (*pack, error) {
	p := a.emptyPack(ask)
	err := a.store.InPast(ctx, p.known, func(seen *store.Store) error {
		return (&gathering{Auditor: a.over(seen), ctx: ctx, pack: p}).all()
	})
	if err != nil {
		return nil, err
	}
	err = a.store.InSnapshot(ctx, func(seen *store.Store) error { return p.prove(ctx, seen) })
	return p, err
}

// prove adds the leaves of the entries with their proofs, and the checkpoint that these lead to.
func (p *pack) prove(ctx context.Context, s *store.Store) error {
	checkpoint, err := s.Checkpoint(ctx)
	if err != nil {
		return err
	}
	p.files["log/checkpoint.txt"] = []byte(checkpoint.String())
	slices.SortFunc(p.entries, func(x, y filed) int { return cmp.Or(cmp.Compare(x.kind, y.kind), cmp.Compare(x.id, y.id)) })
	p.entries = slices.Compact(p.entries)
	entries, leaves := map[string]*bytes.Buffer{}, bytes.Buffer{}
	line := map[string]int{}
	for _, e := range p.entries {
		proof, err := s.InclusionProof(ctx, e.kind, string(e.id))
		if err != nil {
			return fmt.Errorf("%s %s: %w", e.kind, e.id, err)
		}
		if entries[e.kind] == nil {
			entries[e.kind] = &bytes.Buffer{}
		}
		entries[e.kind].Write(append(proof.Record, '\n'))
		line[e.kind]++
		if err := json.NewEncoder(&leaves).Encode(leafLine{e.kind, string(e.id), line[e.kind], proof.N, hexadecimal(proof.Proof)}); err != nil {
			return err
		}
	}
	for kind, lines := range entries {
		p.files["entries/"+kind+".jsonl"] = lines.Bytes()
	}
	p.files["log/leaves.jsonl"] = leaves.Bytes()
	return nil
}

// leafLine is one line of log/leaves.jsonl.
type leafLine struct {
	Kind  string   `json:"kind"`
	ID    string   `json:"id"`
	Line  int      `json:"line"` // of entries/KIND.jsonl, the first is 1
	Leaf  int64    `json:"leaf"`
	Proof []string `json:"proof"` // lowest first
}

func hexadecimal(hashes []ledger.Hash) []string {
	out := []string{}
	for _, h := range hashes {
		out = append(out, hex.EncodeToString(h[:]))
	}
	return out
}

// packed is the time on every file: the same, so that the same ask gives the same bytes.
var packed = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

func (p *pack) write(w io.Writer) error {
	p.files["README.txt"], p.files["index.html"] = p.readme(), p.page()
	names := make([]string, 0, len(p.files))
	for name := range p.files {
		names = append(names, name)
	}
	slices.Sort(names)
	var sums bytes.Buffer
	archive := zip.NewWriter(w)
	for _, name := range names {
		sum := sha256.Sum256(p.files[name])
		fmt.Fprintf(&sums, "%s  %s\n", hex.EncodeToString(sum[:]), name)
		if err := addFile(archive, name, p.files[name]); err != nil {
			return err
		}
	}
	if err := addFile(archive, "SHA256SUMS", sums.Bytes()); err != nil {
		return err
	}
	return archive.Close()
}

func addFile(archive *zip.Writer, name string, content []byte) error {
	file, err := archive.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: packed})
	if err != nil {
		return err
	}
	_, err = file.Write(content)
	return err
}

// gathering reads a pack's content in the past.
type gathering struct {
	*Auditor
	ctx  context.Context
	pack *pack
}

func (g *gathering) all() error {
	crew, err := store.Get[groundhand.Crew](g.ctx, g.store, g.pack.ask.CrewID)
	if err != nil {
		return err
	}
	g.pack.crew = crew
	for _, step := range []func() error{g.members, g.evidence, g.work, g.corrections, g.rules, g.standings, g.names} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// within says whether an entry happened in the time of the pack.
func (g *gathering) within(r groundhand.Recorded) bool {
	return g.pack.ask.From <= r.HappenedOn && r.HappenedOn <= g.pack.ask.Through
}

// members are the memberships of the crew that touch the time; those are the people of the pack.
func (g *gathering) members() error {
	rows, err := store.Find[groundhand.Membership](g.ctx, g.store, store.ByCrew, []groundhand.CrewID{g.pack.ask.CrewID})
	rows = slices.DeleteFunc(rows, func(m groundhand.Membership) bool {
		return m.FromOn > g.pack.ask.Through || m.ToOn != 0 && m.ToOn < g.pack.ask.From
	})
	for _, m := range rows {
		g.pack.people[m.WorkerID] = true
	}
	return put(g, err, "memberships", rows, func(m groundhand.Membership) groundhand.EntryID { return m.ID })
}

func (g *gathering) workers() []groundhand.WorkerID {
	out := make([]groundhand.WorkerID, 0, len(g.pack.people))
	for id := range g.pack.people {
		out = append(out, id)
	}
	slices.Sort(out)
	return out
}

// evidence is everything that the standings of these people rest on, of all times: what counts in the window may lie before it.
func (g *gathering) evidence() error {
	who := g.workers()
	e, err := g.store.Evidence(g.ctx, who)
	if err != nil {
		return err
	}
	runs := []groundhand.RunID{}
	parts := make([]groundhand.RunPart, len(e.Practices))
	for i, p := range e.Practices {
		parts[i] = p.RunPart
		runs = append(runs, p.RunID)
	}
	ran, err := store.Find[groundhand.Run](g.ctx, g.store, store.ByID, distinct(runs))
	sessions := []groundhand.SessionID{}
	for _, r := range ran {
		sessions = append(sessions, r.SessionID)
		if g.within(r.Recorded) {
			g.pack.devices, g.pack.kits = append(g.pack.devices, r.DeviceID), append(g.pack.kits, r.KitID)
		}
	}
	held, err2 := store.Find[groundhand.Session](g.ctx, g.store, store.ByID, distinct(sessions))
	return firstError(
		put(g, err2, "sessions", held, func(s groundhand.Session) groundhand.EntryID { return groundhand.EntryID(s.ID) }),
		put(g, err, "runs", ran, func(r groundhand.Run) groundhand.EntryID { return groundhand.EntryID(r.ID) }),
		put(g, nil, "run_parts", parts, func(p groundhand.RunPart) groundhand.EntryID { return p.ID }),
		put(g, nil, "assessments", e.Assessments, func(a groundhand.Assessment) groundhand.EntryID { return a.ID }),
		put(g, nil, "outside_evidences", e.Outside, func(o groundhand.OutsideEvidence) groundhand.EntryID { return o.ID }),
		put(g, nil, "suspensions", e.Suspensions, func(s groundhand.Suspension) groundhand.EntryID { return s.ID }),
		put(g, nil, "liftings", e.Liftings, func(l groundhand.Lifting) groundhand.EntryID { return l.ID }),
		put(g, nil, "extensions", e.Extensions, func(x groundhand.Extension) groundhand.EntryID { return x.ID }),
		put(g, nil, "provisionals", e.Provisionals, func(p groundhand.Provisional) groundhand.EntryID { return p.ID }),
		put(g, nil, "gradings", e.Gradings, func(r groundhand.Grading) groundhand.EntryID { return r.ID }),
		put(g, nil, "withdrawals", e.Withdrawals, func(w groundhand.Withdrawal) groundhand.EntryID { return w.ID }),
		g.authorities(e.Assessors()),
	)
}

func (g *gathering) authorities(assessors []groundhand.WorkerID) error {
	rows, err := store.Find[groundhand.Authority](g.ctx, g.store, store.ByAssessor, assessors)
	return put(g, err, "authorities", rows, func(a groundhand.Authority) groundhand.EntryID { return a.ID })
}

// work is the jobs of the crew in the window, what the foreman answered, what was answered about them and what was decided, and real events.
func (g *gathering) work() error {
	of := []groundhand.CrewID{g.pack.ask.CrewID}
	jobs, err := store.Find[groundhand.Job](g.ctx, g.store, store.ByCrew, of)
	jobs = slices.DeleteFunc(jobs, func(j groundhand.Job) bool { return !g.within(j.Recorded) })
	ids := []groundhand.JobID{}
	for _, j := range jobs {
		ids = append(ids, j.ID)
	}
	briefings, err2 := store.Find[groundhand.Briefing](g.ctx, g.store, store.ByJob, ids)
	replies, err3 := store.Find[groundhand.Reply](g.ctx, g.store, store.ByCrew, of)
	replies = slices.DeleteFunc(replies, func(r groundhand.Reply) bool { return !g.within(r.Recorded) })
	answers := []groundhand.ReplyID{}
	for _, r := range replies {
		answers = append(answers, r.ID)
		g.pack.files["answers/"+string(r.ID)+".question.json"] = []byte(r.Question)
		g.pack.files["answers/"+string(r.ID)+".answer.json"] = []byte(r.Answer)
	}
	decisions, err4 := store.Find[groundhand.Decision](g.ctx, g.store, store.ByReply, answers)
	events, err5 := store.Find[groundhand.RealEvent](g.ctx, g.store, store.ByCrew, of)
	events = slices.DeleteFunc(events, func(e groundhand.RealEvent) bool { return !g.within(e.Recorded) })
	return firstError(
		put(g, err, "jobs", jobs, func(j groundhand.Job) groundhand.EntryID { return groundhand.EntryID(j.ID) }),
		put(g, err2, "briefings", briefings, func(b groundhand.Briefing) groundhand.EntryID { return b.ID }),
		put(g, err3, "replies", replies, func(r groundhand.Reply) groundhand.EntryID { return groundhand.EntryID(r.ID) }),
		put(g, err4, "decisions", decisions, func(d groundhand.Decision) groundhand.EntryID { return d.ID }),
		put(g, err5, "real_events", events, func(e groundhand.RealEvent) groundhand.EntryID { return e.ID }),
		g.things(jobs, events),
	)
}

// things are the devices and kits that jobs, runs and events of the time name.
func (g *gathering) things(jobs []groundhand.Job, events []groundhand.RealEvent) error {
	devices, kits := g.pack.devices, g.pack.kits
	for _, j := range jobs {
		devices, kits = append(devices, j.DeviceID), append(kits, j.KitID)
	}
	for _, e := range events {
		devices, kits = append(devices, e.DeviceID), append(kits, e.KitID)
	}
	devices, kits = distinct(devices), distinct(kits)
	placings, err := store.Find[groundhand.KitPlacing](g.ctx, g.store, store.ByDevice, devices)
	for _, p := range placings {
		kits = append(kits, p.KitID)
	}
	kits = distinct(kits)
	g.pack.files["things.json"] = asJSON(map[string]any{"devices": devices, "kits": kits})
	return firstError(err, g.looks(devices, kits), put(g, nil, "kit_placings", placings, func(p groundhand.KitPlacing) groundhand.EntryID { return p.ID }))
}

func (g *gathering) looks(devices []groundhand.DeviceID, kits []groundhand.KitID) error {
	onDevices, err := store.Find[groundhand.Inspection](g.ctx, g.store, store.ByDevice, devices)
	onKits, err2 := store.Find[groundhand.Inspection](g.ctx, g.store, store.ByKit, kits)
	looks := slices.DeleteFunc(append(onDevices, onKits...), func(i groundhand.Inspection) bool { return i.HappenedOn > g.pack.ask.Through })
	atDevices, err3 := store.Find[groundhand.Defect](g.ctx, g.store, store.ByDevice, devices)
	atKits, err4 := store.Find[groundhand.Defect](g.ctx, g.store, store.ByKit, kits)
	defects := slices.DeleteFunc(append(atDevices, atKits...), func(d groundhand.Defect) bool { return d.HappenedOn > g.pack.ask.Through })
	return firstError(
		put(g, firstError(err, err2), "inspections", looks, func(i groundhand.Inspection) groundhand.EntryID { return i.ID }),
		put(g, firstError(err3, err4), "defects", defects, func(d groundhand.Defect) groundhand.EntryID { return d.ID }))
}

// corrections are those that stand beside an entry of the pack, with disputes and reviews.
func (g *gathering) corrections() error {
	here := map[groundhand.EntryID]bool{}
	for _, e := range g.pack.entries {
		here[e.id] = true
	}
	corrections, err := allWithin(g.ctx, g.store, func(c groundhand.Correction) bool { return here[c.ByID] || here[c.ReplacedID] })
	disputes, err2 := allWithin(g.ctx, g.store, func(d groundhand.Dispute) bool { return here[d.EntryID] })
	reviews, err3 := allWithin(g.ctx, g.store, func(r groundhand.Review) bool { return here[r.EntryID] })
	ids := []groundhand.EntryID{}
	for _, r := range reviews {
		ids = append(ids, r.ID)
	}
	closings, err4 := store.Find[groundhand.ReviewClosing](g.ctx, g.store, store.ByReview, ids)
	return firstError(
		put(g, err, "corrections", corrections, func(c groundhand.Correction) groundhand.EntryID { return c.ID }),
		put(g, err2, "disputes", disputes, func(d groundhand.Dispute) groundhand.EntryID { return d.ID }),
		put(g, err3, "reviews", reviews, func(r groundhand.Review) groundhand.EntryID { return r.ID }),
		put(g, err4, "review_closings", closings, func(r groundhand.ReviewClosing) groundhand.EntryID { return r.ID }))
}

// rules are those of our own that held on a day of the window, whole.
func (g *gathering) rules() error {
	sets, err := store.Standing[groundhand.RuleSet](g.ctx, g.store)
	sets = slices.DeleteFunc(sets, func(s groundhand.RuleSet) bool {
		return s.EffectiveFrom > g.pack.ask.Through || s.EffectiveThrough != 0 && s.EffectiveThrough < g.pack.ask.From
	})
	for _, s := range sets {
		g.pack.files["rules/"+string(s.ID)+".json"] = []byte(s.Body)
	}
	return put(g, err, "rule_sets", sets, func(s groundhand.RuleSet) groundhand.EntryID { return groundhand.EntryID(s.ID) })
}

// standings asks what the rules ask of these people on the last day, as a standing-facts/1 file.
func (g *gathering) standings() error {
	facts, err := g.roll.Export(g.ctx, rollcall.StandingQuestion{Workers: g.workers(), On: g.pack.ask.Through})
	if len(groundhand.Refusals(err)) > 0 {
		return nil // no rules of our own were in force; then nothing was asked
	}
	if err != nil {
		return err
	}
	file, err := facts.Encode()
	g.pack.files["standings.json"] = file
	return err
}

// names are those of the people in the pack on its last day, apart from everything else.
func (g *gathering) names() error {
	names, err := g.store.NamesOn(g.ctx, nil, g.pack.ask.Through)
	shown := map[string]string{}
	for id, name := range names {
		if g.pack.people[id] {
			shown[string(id)] = name
		}
	}
	g.pack.files["names.json"] = asJSON(shown)
	return err
}

// put notes the entries of a kind. What goes into the pack is each entry as the log has it.
func put[T any](g *gathering, err error, kind string, rows []T, id func(T) groundhand.EntryID) error {
	for _, row := range rows {
		g.pack.entries = append(g.pack.entries, filed{kind, id(row)})
	}
	return err
}

func asJSON(v any) []byte {
	b, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		panic(err) // maps of texts can always be written
	}
	return append(b, '\n')
}

func distinct[K ~string](ids []K) []K {
	out := slices.DeleteFunc(slices.Clone(ids), func(id K) bool { return id == "" })
	slices.Sort(out)
	return slices.Compact(out)
}

func firstError(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
