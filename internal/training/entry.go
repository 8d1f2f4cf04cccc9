package training

import "groundhand/internal/groundhand"

// Entry is what every form of a recorded fact says about the entering itself.
type Entry struct {
	CameBy   groundhand.Origin  // how it came in; empty: typed live
	Replaces groundhand.EntryID // the record that this one corrects; empty: none
	Because  string             // why the correction is made; needed with Replaces
	Kind     groundhand.CorrectionKind
	AskedBy  groundhand.WorkerID // who asked for the correction; empty: the author
	AgreedBy groundhand.WorkerID // who agreed to it besides the author; needed for the kinds IDENTITY and VALIDITY
}

// When says when something happened. One of the two is enough; with both, the moment must lie in the day.
type When struct {
	On groundhand.Date    // the local day
	At groundhand.Instant // the moment, where it is known
}

func (e Entry) check(c *fields) {
	noneOr(c, "cameBy", e.CameBy, groundhand.TypedLive, groundhand.Offline, groundhand.FromPaper, groundhand.Imported, groundhand.Elsewhere)
	c.maybeID("replaces", string(e.Replaces))
	c.remark("because", e.Because)
	switch {
	case e.Replaces != "" && e.Because == "":
		c.wrong("because", "Say why the record is corrected.")
	case e.Replaces == "" && e.Because != "":
		c.wrong("replaces", "Say which record is corrected, or leave out the reason for a correction.")
	case e.Replaces == "" && (e.Kind != "" || e.AskedBy != "" || e.AgreedBy != ""):
		c.wrong("replaces", "Say which record is corrected, or leave out of what kind the correction is, who asked and who agreed.")
	}
	noneOr(c, "kind", e.Kind, groundhand.Clerical, groundhand.IdentityMistaken, groundhand.Factual, groundhand.ValidityMistaken)
	e.words().check(c)
}

// words are what the entry says about being a correction.
func (e Entry) words() correctionWords {
	w := correctionWords{e.Kind, e.Because, e.AskedBy, e.AgreedBy}
	if w.kind == "" {
		w.kind = groundhand.Factual
	}
	return w
}

func (e Entry) origin() groundhand.Origin {
	if e.CameBy == "" {
		return groundhand.TypedLive
	}
	return e.CameBy
}

// happened refuses a moment that has not come yet: only what has happened can be recorded.
func (w When) happened(c *fields) {
	if w.On == 0 && w.At == 0 {
		c.wrong("on", "Give the day on which it happened.")
	}
	c.day("on", w.On, c.today())
	if w.At > c.now {
		c.wrong("at", "This lies ahead; it is now %s, and only what has happened can be entered.", c.clock(c.now))
		return
	}
	c.moment("at", w.At)
	if w.On != 0 && w.At != 0 && w.On != w.day(c) {
		c.wrong("at", "%s is not on %s.", c.clock(w.At), w.On)
	}
}

// day is the local day. A moment decides it; it is only asked of a moment within limits.
func (w When) day(c *fields) groundhand.Date {
	if w.At != 0 {
		return groundhand.DateOf(w.At.In(c.zone))
	}
	return w.On
}

// notReplaced refuses a correction of what has a name of its own: the name stays, so it is withdrawn and entered under another one.
func (e Entry) notReplaced(c *fields) {
	if e.Replaces != "" {
		c.wrong("replaces", "This cannot be replaced; withdraw it and enter it anew.")
	}
}
