package rulebook

import (
	"embed"
	"encoding/json"

	"groundhand/internal/groundhand"
)

//go:embed sets/*.json
var sets embed.FS

// shippedFiles are the files in the order in which the rule sets are shown.
var shippedFiles = []string{"r0", "r1", "r2", "rc", "rx"}

// Shipped gives the rule sets of the invented company: R0, R1 and R2 are its own, by date; R-C belongs to a client and R-X to a resident
// contractor. Whoever loads them sets RecordedAt, AuthorID and ApprovedBy: rules hold because somebody at the employer approved them.
func Shipped() []groundhand.RuleSet {
	out := make([]groundhand.RuleSet, 0, len(shippedFiles))
	for _, name := range shippedFiles {
		out = append(out, shipped(name))
	}
	return out
}

func shipped(name string) groundhand.RuleSet {
	body, err := sets.ReadFile("sets/" + name + ".json")
	if err != nil {
		panic(err) // embedded: cannot be missing
	}
	var head struct {
		ID               groundhand.RuleSetID
		Title, Owner     string
		Default          bool
		EffectiveFrom    groundhand.Date `json:"effective_from"`
		EffectiveThrough groundhand.Date `json:"effective_through"`
		Rules            json.RawMessage
	}
	if err := json.Unmarshal(body, &head); err != nil {
		panic(err) // embedded: read by the tests
	}
	return groundhand.RuleSet{
		ID: head.ID, Recorded: groundhand.Recorded{HappenedOn: head.EffectiveFrom}, Title: head.Title, Owner: head.Owner,
		IsDefault: head.Default, EffectiveFrom: head.EffectiveFrom, EffectiveThrough: head.EffectiveThrough, Body: string(head.Rules),
	}
}
