package training

import (
	"slices"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// mostReviews is how many reviews one correction opens, and how many passes it looks at.
const mostReviews = 1000

// decides lists the kinds of entries that can decide whether somebody could sign for others on a day.
var decides = []string{"run_parts", "assessments", "outside_evidences", "authorities", "suspensions", "liftings", "gradings", "unavailabilities"}

// resting is what may rest on the entries about to be corrected: the passes signed by whom they are about, and by whoever was passed so.
// It is looked at before anything is written, because only the difference tells what a correction took away.
type resting struct {
	of     map[groundhand.EntryID]subject // the entries corrected
	passes []groundhand.Assessment
	counts map[groundhand.EntryID]bool // of the passes, before
}

func (in *entering) resting() (r resting, err error) {
	if len(in.corrections) == 0 {
		return r, nil
	}
	r.of = map[groundhand.EntryID]subject{}
	since := map[groundhand.WorkerID]groundhand.Date{}
	for _, c := range in.corrections {
		kind, s, err := in.subjectOf(c.ReplacedID)
		if err != nil {
			return r, err
		}
		r.of[c.ReplacedID] = s
		if s.worker != "" && slices.Contains(decides, kind) {
			sooner(since, s.worker, s.from)
		}
	}
	if r.passes, err = in.passesSince(since); err == nil {
		r.counts, err = in.counting(r.passes)
	}
	return r, err
}

// sooner notes the earlier of two days, and says whether it is news.
func sooner(since map[groundhand.WorkerID]groundhand.Date, w groundhand.WorkerID, day groundhand.Date) bool {
	if before, known := since[w]; known && before <= day {
		return false
	}
	since[w] = day
	return true
}

// passesSince gives the standing passes in practice that people signed from a day on, then those signed by whoever they passed, and so on.
func (in *entering) passesSince(since map[groundhand.WorkerID]groundhand.Date) ([]groundhand.Assessment, error) {
	var out []groundhand.Assessment
	seen := map[groundhand.EntryID]bool{}
	var next []groundhand.WorkerID
	for w := range since {
		next = append(next, w)
	}
	for len(next) > 0 {
		slices.Sort(next)
		found, err := store.FindStanding[groundhand.Assessment](in.ctx, in.tx, store.ByAssessor, next)
		if err != nil {
			return nil, err
		}
		next = nil
		for _, a := range found {
			if a.Result != groundhand.Pass || a.Theory || a.HappenedOn < since[a.AssessorID] || seen[a.ID] {
				continue
			}
			if len(out) == mostReviews {
				return out, nil
			}
			seen[a.ID] = true
			out = append(out, a)
			if sooner(since, a.WorkerID, a.HappenedOn) {
				next = append(next, a.WorkerID)
			}
		}
	}
	return out, nil
}

// counting says which passes are not refused for their assessor, by our own rules of their day.
func (in *entering) counting(passes []groundhand.Assessment) (map[groundhand.EntryID]bool, error) {
	out := map[groundhand.EntryID]bool{}
	if len(passes) == 0 {
		return out, nil
	}
	var workers []groundhand.WorkerID
	for _, a := range passes {
		workers = append(workers, a.WorkerID)
	}
	slices.Sort(workers)
	facts, err := rollcall.New(in.tx, in.zone).Facts(in.ctx, slices.Compact(workers))
	if err != nil {
		return nil, err
	}
	book, err := competence.NewBook(facts)
	if err != nil {
		return nil, err
	}
	for _, a := range passes {
		answer, err := book.Standing(standingOf(a, a.WorkerID, a.HappenedOn))
		if err != nil {
			return nil, err
		}
		why := refusedFor(answer, a.ID)
		out[a.ID] = why != competence.AssessorNotCurrent && why != competence.AssessorNoRight
	}
	return out, nil
}

// fallOut opens, once the corrections are written, a review of everything that rested on what they replaced.
func (in *entering) fallOut(r resting) error {
	if len(in.corrections) == 0 {
		return nil
	}
	reviews, err := in.lostPasses(r)
	if err != nil {
		return err
	}
	for _, c := range in.corrections {
		onIt, err := in.restedOn(c, r.of[c.ReplacedID])
		if err != nil {
			return err
		}
		reviews = append(reviews, onIt...)
	}
	if reviews, err = in.notYetOpen(reviews); err != nil {
		return err
	}
	return store.Add(in.ctx, in.tx, bounded(reviews, mostReviews, in.corrections[0].ID)...)
}

// bounded keeps a correction from opening more than so many reviews. The last one then is of the correction itself, so that nobody takes
// those that are listed for all.
func bounded(reviews []groundhand.Review, most int, correction groundhand.EntryID) []groundhand.Review {
	if len(reviews) <= most {
		return reviews
	}
	reviews = reviews[:most]
	reviews[most-1].EntryID, reviews[most-1].WorkerID = correction, ""
	return reviews
}

// lostPasses are the passes that counted before and do not any more, with the certificates that rest on them. Those corrected in this very
// step are no news.
func (in *entering) lostPasses(r resting) ([]groundhand.Review, error) {
	now, err := in.counting(r.passes)
	if err != nil {
		return nil, err
	}
	var out []groundhand.Review
	var lost []groundhand.EntryID
	for _, a := range r.passes {
		if _, itself := r.of[a.ID]; r.counts[a.ID] && !now[a.ID] && !itself {
			lost = append(lost, a.ID)
			out = append(out, in.review(a.ID, groundhand.RestedOnCorrected, in.corrections[0].ID, a.WorkerID))
		}
	}
	certs, err := store.FindStanding[groundhand.Certificate](in.ctx, in.tx, store.ByEvidence, lost)
	for _, cert := range certs {
		out = append(out, in.review(groundhand.EntryID(cert.ID), groundhand.RestedOnCorrected, in.corrections[0].ID, cert.WorkerID))
	}
	return out, err
}

// restedOn are the passes, certificates and answers that rest on an entry that was corrected.
func (in *entering) restedOn(c groundhand.Correction, s subject) ([]groundhand.Review, error) {
	var out []groundhand.Review
	line, err := in.lineOf(c.ReplacedID)
	if err != nil {
		return nil, err
	}
	certs, err := store.FindStanding[groundhand.Certificate](in.ctx, in.tx, store.ByEvidence, line)
	if err != nil {
		return nil, err
	}
	for _, cert := range certs {
		out = append(out, in.review(groundhand.EntryID(cert.ID), groundhand.RestedOnCorrected, c.ID, cert.WorkerID))
	}
	linked, err := in.passesOfParts(c, line)
	if err != nil {
		return nil, err
	}
	out = append(out, linked...)
	replies, err := in.tx.RepliesRestingOn(in.ctx, c.ReplacedID, s.RecordedAt, mostReviews+1)
	if err != nil {
		return nil, err
	}
	for _, reply := range replies {
		over, err := in.overBefore(reply, s)
		if err != nil {
			return nil, err
		}
		if !over {
			out = append(out, in.review(groundhand.EntryID(reply.ID), groundhand.AnswerRestedOnCorrected, c.ID, ""))
		}
	}
	return out, nil
}

// passesOfParts are the passes in which one of these parts in a run was judged, with the certificates that rest on them.
func (in *entering) passesOfParts(c groundhand.Correction, parts []groundhand.EntryID) ([]groundhand.Review, error) {
	passes, err := store.FindStanding[groundhand.Assessment](in.ctx, in.tx, store.ByRunPart, parts)
	if err != nil {
		return nil, err
	}
	var out []groundhand.Review
	var ids []groundhand.EntryID
	for _, a := range passes {
		if a.Result == groundhand.Pass {
			ids = append(ids, a.ID)
			out = append(out, in.review(a.ID, groundhand.RestedOnCorrected, c.ID, a.WorkerID))
		}
	}
	certs, err := store.FindStanding[groundhand.Certificate](in.ctx, in.tx, store.ByEvidence, ids)
	for _, cert := range certs {
		out = append(out, in.review(groundhand.EntryID(cert.ID), groundhand.RestedOnCorrected, c.ID, cert.WorkerID))
	}
	return out, err
}

// overBefore says that the job of an answer ended before what was corrected had happened. An answer about no booked job is never over.
func (in *entering) overBefore(reply groundhand.Reply, s subject) (bool, error) {
	if reply.JobID == "" {
		return false, nil
	}
	job, err := store.Get[groundhand.Job](in.ctx, in.tx, reply.JobID)
	happened := s.HappenedAt
	if happened == 0 {
		happened = groundhand.InstantOf(s.HappenedOn.Start(in.zone))
	}
	return job.EndAt <= min(happened, in.now), err
}

// longestLine is how far a line of corrections is followed back.
const longestLine = 100

// lineOf gives an entry with those that it replaced in turn: what rests on one of them rests on it.
func (in *entering) lineOf(id groundhand.EntryID) ([]groundhand.EntryID, error) {
	var out []groundhand.EntryID
	for id != "" && len(out) < longestLine {
		out = append(out, id)
		_, row, err := in.entry(id)
		if err != nil {
			return nil, err
		}
		id = ""
		if row != nil {
			id = row.(interface{ Told() *groundhand.Recorded }).Told().ReplacesID
		}
	}
	return out, nil
}

func (in *entering) review(entry groundhand.EntryID, cause groundhand.ReviewCause, causeID groundhand.EntryID, w groundhand.WorkerID) groundhand.Review {
	return groundhand.Review{ID: entryID(in), Recorded: in.told(Entry{}, When{At: in.now}), EntryID: entry, Cause: cause, CauseID: causeID, WorkerID: w}
}

// notYetOpen leaves out what is in review for the same cause already, and what stands in the list twice.
func (in *entering) notYetOpen(reviews []groundhand.Review) ([]groundhand.Review, error) {
	ids := make([]groundhand.EntryID, len(reviews))
	for i, r := range reviews {
		ids[i] = r.EntryID
	}
	open, err := in.openReviews(ids)
	if err != nil {
		return nil, err
	}
	type key struct {
		entry groundhand.EntryID
		cause groundhand.ReviewCause
	}
	seen := map[key]bool{}
	for _, r := range open {
		seen[key{r.EntryID, r.Cause}] = true
	}
	var out []groundhand.Review
	for _, r := range reviews {
		if k := (key{r.EntryID, r.Cause}); !seen[k] {
			seen[k] = true
			out = append(out, r)
		}
	}
	return out, nil
}

// openReviews gives the reviews of entries that nobody has closed.
func (in *entering) openReviews(entries []groundhand.EntryID) ([]groundhand.Review, error) {
	all, err := store.FindStanding[groundhand.Review](in.ctx, in.tx, store.ByEntry, entries)
	if err != nil {
		return nil, err
	}
	ids := make([]groundhand.EntryID, len(all))
	for i, r := range all {
		ids[i] = r.ID
	}
	closings, err := store.FindStanding[groundhand.ReviewClosing](in.ctx, in.tx, store.ByReview, ids)
	closed := map[groundhand.EntryID]bool{}
	for _, c := range closings {
		closed[c.ReviewID] = true
	}
	return slices.DeleteFunc(all, func(r groundhand.Review) bool { return closed[r.ID] }), err
}
