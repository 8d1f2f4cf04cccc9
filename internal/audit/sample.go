package audit

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strings"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// SampleAsk asks for a random sample of the passes of some days.
type SampleAsk struct {
	Seed    int64 // the same seed draws the same sample from the same records
	N       int   // how many, 1 to MostSampled
	From    groundhand.Date
	Through groundhand.Date // included
}

// MostSampled is the most passes of one sample.
const MostSampled = 500

// Sample is passes drawn at random without replacement. Anybody can draw it again: take the SHA-256 of the seed in decimal figures, a colon
// and the id of the pass, for every standing pass of the days; those with the smallest digests are the sample.
type Sample struct {
	SampleAsk
	Of     int // standing passes of the days
	Passes []SampledPass
}

// SampledPass is one pass with what lies behind it.
type SampledPass struct {
	groundhand.Assessment
	Draw        string              // the digest that it was drawn by, hexadecimal
	Part        *groundhand.RunPart // the part in a run that was judged; nil: none is linked
	Run         *groundhand.Run
	Marks       []rollcall.Mark         // of the pass, the part and the run
	Corrections []groundhand.Correction // that the pass came of, or that stand against what it names
	Reviews     []groundhand.Review     // of the pass, closed ones too
	Authorities []groundhand.Authority  // of the assessor on that day that cover it
	Leaf        int64                   // its number in the log
	LeafFits    bool                    // the entry as it is now is what the log says
}

// Finding of a sampled pass in words.
func (p SampledPass) Words() string {
	var words []string
	if !p.LeafFits {
		words = append(words, "not as it was logged")
	}
	for _, m := range p.Marks {
		words = append(words, strings.ToLower(strings.ReplaceAll(string(m), "_", " ")))
	}
	if len(p.Authorities) == 0 {
		words = append(words, "no authority of the assessor on that day")
	}
	if len(words) == 0 {
		return "clean"
	}
	return strings.Join(words, ", ")
}

// Sample draws a sample.
func (a *Auditor) Sample(ctx context.Context, by groundhand.Account, ask SampleAsk) (out Sample, err error) {
	if err := access.May(by, access.Audit); err != nil {
		return out, err
	}
	var p groundhand.Problems
	if ask.N < 1 || ask.N > MostSampled {
		p.Add(groundhand.CodeInvalid, "n", "%d does not lie between 1 and %d.", ask.N, MostSampled)
	}
	checkDays(&p, ask.From, ask.Through)
	if err := p.Err(); err != nil {
		return out, err
	}
	err = a.store.InSnapshot(ctx, func(seen *store.Store) error {
		out, err = a.over(seen).sample(ctx, ask)
		return err
	})
	return out, err
}

// checkDays asks for two days in order.
func checkDays(p *groundhand.Problems, from, through groundhand.Date) {
	if from == 0 {
		p.Add(groundhand.CodeInvalid, "from", "Give the first day.")
	}
	if through == 0 {
		p.Add(groundhand.CodeInvalid, "through", "Give the last day.")
	}
	if from > through && through != 0 {
		p.Add(groundhand.CodeInvalid, "through", "It ends on %s, before it begins on %s.", through, from)
	}
}

func (a *Auditor) sample(ctx context.Context, ask SampleAsk) (Sample, error) {
	passes, err := a.passes(ctx, ask.From, ask.Through)
	if err != nil {
		return Sample{}, err
	}
	drawn := Draw(ask.Seed, ask.N, passes)
	out := Sample{SampleAsk: ask, Of: len(passes), Passes: make([]SampledPass, len(drawn))}
	for i, d := range drawn {
		out.Passes[i] = SampledPass{Assessment: d.Pass, Draw: d.Digest}
	}
	return out, a.lieBehind(ctx, out.Passes)
}

// passes are the standing passes in practice of some days.
func (a *Auditor) passes(ctx context.Context, from, through groundhand.Date) ([]groundhand.Assessment, error) {
	all, err := store.Standing[groundhand.Assessment](ctx, a.store)
	return slices.DeleteFunc(all, func(s groundhand.Assessment) bool {
		return s.Result != groundhand.Pass || s.Theory || s.HappenedOn < from || s.HappenedOn > through
	}), err
}

// Drawn is a pass with the digest that decides whether it is drawn.
type Drawn struct {
	Pass   groundhand.Assessment
	Digest string
}

// Draw draws n of the passes. It depends on nothing but the seed and the ids.
func Draw(seed int64, n int, passes []groundhand.Assessment) []Drawn {
	all := make([]Drawn, len(passes))
	for i, pass := range passes {
		sum := sha256.Sum256(fmt.Appendf(nil, "%d:%s", seed, pass.ID))
		all[i] = Drawn{pass, hex.EncodeToString(sum[:])}
	}
	slices.SortFunc(all, func(x, y Drawn) int { return cmp.Compare(x.Digest, y.Digest) })
	return all[:min(n, len(all))]
}

// lieBehind fills in what lies behind the passes.
func (a *Auditor) lieBehind(ctx context.Context, passes []SampledPass) error {
	for _, step := range []func(context.Context, []SampledPass) error{a.practised, a.marked, a.reviewed, a.authorised, a.logged} {
		if err := step(ctx, passes); err != nil {
			return err
		}
	}
	return nil
}

func (a *Auditor) practised(ctx context.Context, passes []SampledPass) error {
	parts, err := byID[groundhand.RunPart](ctx, a.store, each(passes, func(p SampledPass) groundhand.EntryID { return p.RunPartID }), func(p groundhand.RunPart) groundhand.EntryID { return p.ID })
	if err != nil {
		return err
	}
	ids := []groundhand.RunID{}
	for _, p := range parts {
		ids = append(ids, p.RunID)
	}
	runs, err := byID[groundhand.Run](ctx, a.store, ids, func(r groundhand.Run) groundhand.RunID { return r.ID })
	for i := range passes {
		part, linked := parts[passes[i].RunPartID]
		if !linked {
			continue
		}
		run := runs[part.RunID]
		passes[i].Part, passes[i].Run = &part, &run
	}
	return err
}

func (p SampledPass) entries() []groundhand.EntryID {
	ids := []groundhand.EntryID{p.ID}
	if p.Part != nil {
		ids = append(ids, p.Part.ID, groundhand.EntryID(p.Run.ID))
	}
	return ids
}

func (a *Auditor) marked(ctx context.Context, passes []SampledPass) error {
	var ids []groundhand.EntryID
	for _, p := range passes {
		ids = append(ids, p.entries()...)
	}
	marks, err := a.roll.Marks(ctx, ids)
	if err != nil {
		return err
	}
	corrections, err := store.Standing[groundhand.Correction](ctx, a.store)
	for i, p := range passes {
		for _, mark := range rollcall.AllMarks {
			if slices.ContainsFunc(p.entries(), func(id groundhand.EntryID) bool { return slices.Contains(marks[id], mark) }) {
				passes[i].Marks = append(passes[i].Marks, mark)
			}
		}
		for _, c := range corrections {
			if slices.Contains(p.entries(), c.ByID) || slices.Contains(p.entries(), c.ReplacedID) {
				passes[i].Corrections = append(passes[i].Corrections, c)
			}
		}
	}
	return err
}

func (a *Auditor) reviewed(ctx context.Context, passes []SampledPass) error {
	reviews, err := store.FindStanding[groundhand.Review](ctx, a.store, store.ByEntry, each(passes, func(p SampledPass) groundhand.EntryID { return p.ID }))
	for _, r := range reviews {
		i := slices.IndexFunc(passes, func(p SampledPass) bool { return p.ID == r.EntryID })
		passes[i].Reviews = append(passes[i].Reviews, r)
	}
	return err
}

func (a *Auditor) authorised(ctx context.Context, passes []SampledPass) error {
	given, err := store.FindStanding[groundhand.Authority](ctx, a.store, store.ByAssessor, each(passes, func(p SampledPass) groundhand.WorkerID { return p.AssessorID }))
	for i, p := range passes {
		for _, g := range given {
			if g.AssessorID == p.AssessorID && g.FromOn <= p.HappenedOn && (g.ToOn == 0 || p.HappenedOn <= g.ToOn) && g.Methods.Has(string(p.Method)) &&
				(len(g.Families) == 0 || g.Families.Has(string(p.FamilyID))) {
				passes[i].Authorities = append(passes[i].Authorities, g)
			}
		}
	}
	return err
}

// logged looks each pass up in the log and proves that it is there as it is.
func (a *Auditor) logged(ctx context.Context, passes []SampledPass) error {
	checkpoint, err := a.store.Checkpoint(ctx)
	if err != nil {
		return err
	}
	for i, p := range passes {
		proof, err := a.store.InclusionProof(ctx, "assessments", string(p.ID))
		if len(groundhand.Refusals(err)) > 0 {
			continue // no leaf: it does not fit
		}
		if err != nil {
			return err
		}
		passes[i].Leaf = proof.N
		passes[i].LeafFits = proof.Check() == nil && bytes.Equal(proof.Root[:], checkpoint.Root[:])
	}
	return nil
}

// each gives one thing of every pass, once.
func each[K comparable](passes []SampledPass, of func(SampledPass) K) []K {
	var none K
	out := []K{}
	for _, p := range passes {
		if k := of(p); k != none && !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	return out
}

// byID finds rows by their ids, replaced and withdrawn ones too.
func byID[T any, K ~string](ctx context.Context, s *store.Store, ids []K, id func(T) K) (map[K]T, error) {
	rows, err := store.Find[T](ctx, s, store.ByID, ids)
	out := make(map[K]T, len(rows))
	for _, row := range rows {
		out[id(row)] = row
	}
	return out, err
}
