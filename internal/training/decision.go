package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// DecisionForm says what was decided upon an answer that was given.
type DecisionForm struct {
	Entry
	ReplyID groundhand.ReplyID
	Decided groundhand.DecisionKind
	Remarks string // which change, which conditions were accepted, why not; who accepted what the answer did not call ready
}

// Decide enters a decision. The answer advises and a person decides; but nobody is sent out upon "not ready" or "cannot tell" without the
// name of who accepted that: such a form is a Conflict.
func (d *Desk) Decide(ctx context.Context, by groundhand.Account, key string, f DecisionForm) (groundhand.Decision, error) {
	return once(ctx, d, by, key, act{name: "decide", may: access.Decide}, f, one[groundhand.Decision])
}

func (f DecisionForm) check(c *fields) {
	f.Entry.check(c)
	c.id("answerId", string(f.ReplyID))
	oneOf(c, "decided", f.Decided, groundhand.Sent, groundhand.SentChanged, groundhand.SentConditions, groundhand.NotSent)
	c.remark("remarks", f.Remarks)
	if f.Remarks != "" {
		return
	}
	switch f.Decided {
	case groundhand.SentChanged:
		c.wrong("remarks", "Say which change was made.")
	case groundhand.SentConditions:
		c.wrong("remarks", "Say which conditions were accepted, and by whom.")
	case groundhand.NotSent:
		c.wrong("remarks", "Say why the crew was not sent.")
	}
}

func (f DecisionForm) enter(in *entering) groundhand.Decision {
	if old, corrects := correct[groundhand.Decision](in, "decision", f.Entry); corrects && old.ReplyID != f.ReplyID {
		in.Add(groundhand.CodeConflict, "replaces", "That decision was upon another answer.")
	}
	if reply, ok := fetch[groundhand.Reply](in, "answer", at("answerId", f.ReplyID)); ok {
		in.mayCrew(access.Decide, "answerId", reply.CrewID, in.dayOfReply(reply))
		f.accepts(in, reply)
	}
	made := groundhand.Decision{ID: entryID(in), Recorded: in.told(f.Entry, When{At: in.now}), ReplyID: f.ReplyID, Decided: f.Decided, Remarks: f.Remarks}
	add(in, made)
	result(in, made.ID)
	return made
}

// accepts refuses to send a crew upon an answer that does not call it ready, unless somebody accepted that by name.
func (f DecisionForm) accepts(in *entering, reply groundhand.Reply) {
	bad := reply.Verdict == "NOT_READY" || reply.Verdict == "CANNOT_TELL"
	if f.Decided == groundhand.Sent && bad && f.Remarks == "" {
		in.Add(groundhand.CodeConflict, "decided", "The answer was %s; say in the remarks who accepted that, or decide otherwise.", reply.Verdict)
	}
}

// dayOfReply is the day on which it counts whose crew it is: that of the job, else that of the answer.
func (in *entering) dayOfReply(reply groundhand.Reply) groundhand.Date {
	if reply.JobID != "" {
		if job, err := store.Get[groundhand.Job](in.ctx, in.tx, reply.JobID); !in.failed(err) { // also one that was corrected since
			return When{At: job.StartAt}.day(&in.fields)
		}
	}
	return reply.HappenedOn
}
