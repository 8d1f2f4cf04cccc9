package training

import (
	"context"
	"encoding/json"
	"strings"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

// ReplyForm asks whether a crew may be sent, for the record: a booked job, or a question of its own.
type ReplyForm struct {
	Entry
	JobID   groundhand.JobID // this job, with Absent taken out, or
	Absent  groundhand.List
	Ask     rollcall.CoverQuestion // this question; its own Changes are left out, so that the same form always reads the same
	Changes bool                   // search the least change as well,
	Search  rollcall.Changes       // so far
}

// GiveAnswer answers a cover question and keeps the answer as it was given, with the whole question, so that anybody can work it out
// again, and with the entries that it rested on. It decides nothing.
func (d *Desk) GiveAnswer(ctx context.Context, by groundhand.Account, key string, f ReplyForm) (groundhand.Reply, error) {
	a := act{name: "giveAnswer", may: access.GiveAnswer, ahead: func(in *entering) (err error) {
		in.reply, err = d.reply(ctx, f)
		return err
	}}
	return once(ctx, d, by, key, a, f, one[groundhand.Reply])
}

func (f ReplyForm) check(c *fields) {
	f.Entry.check(c)
	f.Entry.notReplaced(c)
	c.maybeID("jobId", string(f.JobID))
	c.ids("absent", f.Absent)
	if f.JobID == "" {
		c.take("ask", f.Ask.Check())
	}
}

func (f ReplyForm) enter(in *entering) groundhand.Reply {
	job, _ := fetch[groundhand.Job](in, "job", at("jobId", f.JobID))
	crew, day := job.CrewID, When{At: job.StartAt}.day(&in.fields)
	if f.JobID == "" {
		crew, day = f.Ask.CrewID, When{At: f.Ask.FromAt}.day(&in.fields)
	}
	known[groundhand.Crew](in, "crew", at("ask.crew", f.Ask.CrewID))
	known[groundhand.Worker](in, "worker", append(refs("absent", f.Absent), f.people()...)...)
	in.mayCrew(access.GiveAnswer, "jobId", crew, day)
	for _, who := range f.Ask.People {
		in.mayAbout(access.GiveAnswer, "ask.people", who, day)
	}
	r := in.reply
	r.ID, r.Recorded, r.CrewID, r.JobID = groundhand.ReplyID(in.tx.NewID()), in.told(f.Entry, When{At: in.now}), crew, f.JobID
	add(in, r)
	result(in, r.ID)
	return r
}

func (f ReplyForm) people() []ref {
	var out []ref
	for i, who := range f.Ask.People {
		out = append(out, at(index("ask.people", i), who))
	}
	for i, who := range f.Ask.Absent {
		out = append(out, at(index("ask.absent", i), who))
	}
	for i, who := range f.Ask.PlannedAloft {
		out = append(out, at(index("ask.plannedAloft", i), who))
	}
	return out
}

// reply works the answer out. A search for changes may take a second or two, so it is done before the records are opened for writing.
func (d *Desk) reply(ctx context.Context, f ReplyForm) (groundhand.Reply, error) {
	answer, err := d.answer(ctx, f)
	if err != nil {
		return groundhand.Reply{}, err
	}
	r := groundhand.Reply{RuleSetID: answer.RuleSetID, Verdict: answer.Answer.Verdict.String()}
	for _, look := range answer.Looks {
		r.Looks = append(r.Looks, string(look))
	}
	if r.RestsOn, err = answer.RestsOn(); err != nil {
		return r, err
	}
	question, err := json.Marshal(answer.Question)
	if err != nil {
		return r, err
	}
	text, err := json.Marshal(answer.Answer)
	r.Question, r.Answer = string(question), string(text)
	return r, err
}

func (d *Desk) answer(ctx context.Context, f ReplyForm) (rollcall.CoverAnswer, error) {
	var changes *rollcall.Changes
	if f.Changes {
		changes = &f.Search
	}
	if f.JobID == "" {
		f.Ask.Changes = changes
		answer, err := d.roll.Cover(ctx, f.Ask)
		return answer, inForm("ask.", err)
	}
	var absent []groundhand.WorkerID
	for _, who := range f.Absent {
		absent = append(absent, groundhand.WorkerID(who))
	}
	answer, err := d.roll.JobCover(ctx, f.JobID, rollcall.Wish{Absent: absent, Changes: changes})
	return answer, inForm("", err)
}

// inForm puts what was refused of a question under the field of the form that asked it. How far to search stands beside the question.
func inForm(prefix string, err error) error {
	var p groundhand.Problems
	for _, e := range groundhand.Refusals(err) {
		field := e.Field
		if !strings.HasPrefix(field, "changes") {
			field = prefix + field
		}
		p.Add(e.Code, field, "%s", e.Message)
	}
	if p.Any() {
		return p.Err()
	}
	return err
}
