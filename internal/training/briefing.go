package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
)

// BriefingForm is what the foreman answers at the job briefing. An empty answer means that nobody looked.
type BriefingForm struct {
	Entry
	JobID       groundhand.JobID
	KitOnDevice groundhand.Answer // seen there, reachable
	KitSuits    groundhand.Answer // everybody going aloft, with tools, within its rated load as labelled
	Aloft       groundhand.List   // workers who go up first; may be empty
	Remarks     string
}

// Brief enters the answers of the foreman of the crew that has the job. They say nothing about how a rescue is done, and nobody's weight
// is kept: the yes or no stands for it.
func (d *Desk) Brief(ctx context.Context, by groundhand.Account, key string, f BriefingForm) (groundhand.Briefing, error) {
	return once(ctx, d, by, key, act{name: "brief", may: access.Brief}, f, one[groundhand.Briefing])
}

func (f BriefingForm) check(c *fields) {
	f.Entry.check(c)
	c.id("jobId", string(f.JobID))
	c.answer("kitOnDevice", f.KitOnDevice)
	c.answer("kitSuits", f.KitSuits)
	c.ids("aloft", f.Aloft)
	c.remark("remarks", f.Remarks)
}

func (f BriefingForm) enter(in *entering) groundhand.Briefing {
	if old, corrects := correct[groundhand.Briefing](in, "briefing", f.Entry); corrects && old.JobID != f.JobID {
		in.Add(groundhand.CodeConflict, "replaces", "That briefing was for another job; withdraw it and enter this one anew.")
	}
	known[groundhand.Worker](in, "worker", refs("aloft", f.Aloft)...)
	if job, ok := fetch[groundhand.Job](in, "job", at("jobId", f.JobID)); ok {
		in.mayCrew(access.Brief, "jobId", job.CrewID, When{At: job.StartAt}.day(&in.fields))
	}
	b := groundhand.Briefing{
		ID: entryID(in), Recorded: in.told(f.Entry, When{At: in.now}), JobID: f.JobID, KitOnDevice: orUnknown(f.KitOnDevice),
		KitSuits: orUnknown(f.KitSuits), Aloft: f.Aloft, Remarks: f.Remarks,
	}
	add(in, b)
	result(in, b.ID)
	return b
}

// mayCrew refuses an act about a crew that this account does not reach on that day: a foreman reaches the own one.
func (in *entering) mayCrew(a access.Act, field string, crew groundhand.CrewID, day groundhand.Date) {
	if access.ReachOf(in.by, a) < access.Everybody {
		in.refuseOr(field, access.MayCrew(in.ctx, in.tx, in.by, a, crew, day))
	}
}
