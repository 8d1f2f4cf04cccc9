package training

import (
	"context"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/store"
)

// RuleSetForm is a dated, approved set of rules. No rule set says that a law is met.
type RuleSetForm struct {
	Entry
	ID               groundhand.RuleSetID
	Title            string
	Owner            string
	IsDefault        bool // the employer's own, chosen by date
	EffectiveFrom    groundhand.Date
	EffectiveThrough groundhand.Date // last day; empty: until another takes over
	ApprovedBy       string
	Body             string // the rules as JSON
}

// ShippedRules fills in the form for a rule set that comes with the service; the employer's own approval is still asked for.
func ShippedRules(r groundhand.RuleSet, approvedBy string) RuleSetForm {
	return RuleSetForm{
		ID: r.ID, Title: r.Title, Owner: r.Owner, IsDefault: r.IsDefault, EffectiveFrom: r.EffectiveFrom,
		EffectiveThrough: r.EffectiveThrough, ApprovedBy: approvedBy, Body: r.Body,
	}
}

// AddRuleSet enters a rule set whose body can be read, at once and from any day: it is for the program, which begins the books. People propose
// rules, and others approve them; see ProposeRules. Old ones stay: a past day is judged by the rules of that day.
func (d *Desk) AddRuleSet(ctx context.Context, by groundhand.Account, key string, f RuleSetForm) (groundhand.RuleSet, error) {
	return once(ctx, d, by, key, act{name: "addRuleSet", may: access.ManageRules}, f, one[groundhand.RuleSet])
}

func (f RuleSetForm) check(c *fields) {
	f.Entry.check(c)
	c.id("id", string(f.ID))
	c.name("title", f.Title)
	c.name("owner", f.Owner)
	c.stretch("effectiveFrom", "effectiveThrough", f.EffectiveFrom, f.EffectiveThrough)
	c.name("approvedBy", f.ApprovedBy)
	_, err := rulebook.Read(f.Body)
	c.take("body", err)
}

func (f RuleSetForm) enter(in *entering) groundhand.RuleSet {
	correct[groundhand.RuleSet](in, "rule set", f.Entry)
	in.unused(string(f.ID))
	if f.IsDefault {
		in.onlyDefault(f)
	}
	r := groundhand.RuleSet{
		ID: f.ID, Recorded: in.told(f.Entry, When{On: f.EffectiveFrom}), Title: f.Title, Owner: f.Owner, IsDefault: f.IsDefault,
		EffectiveFrom: f.EffectiveFrom, EffectiveThrough: f.EffectiveThrough, ApprovedBy: f.ApprovedBy, Body: f.Body,
	}
	add(in, r)
	result(in, r.ID)
	return r
}

// onlyDefault refuses two own rule sets that take effect on the same day: the day could not tell which of them holds.
func (in *entering) onlyDefault(f RuleSetForm) {
	sets, err := store.Standing[groundhand.RuleSet](in.ctx, in.tx)
	if in.failed(err) {
		return
	}
	if other, is := sameDay(sets, f); is {
		in.Add(groundhand.CodeConflict, "effectiveFrom", "The rule set %s takes effect on %s too; two of our own cannot hold at once.", other.ID, f.EffectiveFrom)
	}
}

// sameDay finds another rule set of our own that takes effect on the day of this one.
func sameDay(sets []groundhand.RuleSet, f RuleSetForm) (groundhand.RuleSet, bool) {
	for _, other := range sets {
		if f.IsDefault && other.IsDefault && other.EffectiveFrom == f.EffectiveFrom && string(other.ID) != string(f.Replaces) {
			return other, true
		}
	}
	return groundhand.RuleSet{}, false
}
