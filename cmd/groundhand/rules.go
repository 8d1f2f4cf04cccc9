package main

import (
	"context"
	"fmt"
	"os"
	"text/tabwriter"

	"groundhand/internal/access"
	"groundhand/internal/groundhand"
	"groundhand/internal/rulebook"
	"groundhand/internal/training"
)

// rulesCmd is about the rule sets that come with the program. They are examples: the employer dates and approves its own.
type rulesCmd struct {
	List  rulesListCmd  `cmd:"" help:"List the rule sets that come with the program."`
	Adopt rulesAdoptCmd `cmd:"" help:"Take one over into the records, from a day on and approved by somebody."`
}

type rulesListCmd struct{}

// Run lists short names and titles.
func (rulesListCmd) Run() error {
	out := tabwriter.NewWriter(os.Stdout, 0, 4, 2, ' ', 0)
	for _, set := range rulebook.Shipped() {
		fmt.Fprintf(out, "%s\t%s\n", set.ID, set.Title)
	}
	return out.Flush()
}

type rulesAdoptCmd struct {
	recordsFlags
	As         string `required:"" help:"Name of the account that enters it; a coordinator's."`
	Set        string `required:"" help:"Short name of the rule set that comes with the program, as R1."`
	Name       string `help:"Short name it gets in your records; the same if left out."`
	Owner      string `required:"" help:"Whose rules these become: the employer's name."`
	From       string `required:"" help:"In force from this day, as 2026-01-01."`
	ApprovedBy string `required:"" help:"Who approved it at the employer."`
}

// Run enters the rule set as the employer's own.
func (c *rulesAdoptCmd) Run() error {
	return c.withAs(c.As, func(ctx context.Context, h *house, by groundhand.Account) error {
		if err := access.May(by, access.ProposeRules); err != nil {
			return err
		}
		form, err := c.form()
		if err != nil {
			return err
		}
		by.Capacity = groundhand.Program // over the API one proposes and another approves; whoever holds the file itself begins the books
		set, err := h.desk.AddRuleSet(ctx, by, h.records.NewID(), form)
		if err != nil {
			return err
		}
		fmt.Printf("Rule set %s (%s) is in force from %s, approved by %s. It says what your employer asks; it does not say that a law is met.\n",
			set.ID, set.Title, set.EffectiveFrom.Words(), set.ApprovedBy)
		return nil
	})
}

func (c *rulesAdoptCmd) form() (training.RuleSetForm, error) {
	from, err := groundhand.ParseDate(c.From)
	if err != nil {
		return training.RuleSetForm{}, err
	}
	for _, set := range rulebook.Shipped() {
		if string(set.ID) != c.Set {
			continue
		}
		id := set.ID
		if c.Name != "" {
			id = groundhand.RuleSetID(c.Name)
		}
		return training.RuleSetForm{ID: id, Title: set.Title, Owner: c.Owner, IsDefault: true, EffectiveFrom: from, ApprovedBy: c.ApprovedBy, Body: set.Body}, nil
	}
	return training.RuleSetForm{}, groundhand.NotFound("--set", "No rule set %q comes with the program; groundhand rules list names them.", c.Set)
}
