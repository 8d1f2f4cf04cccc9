package graph_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
)

// What a form says about being a correction is kept beside the entry in whose place it stands.
func TestACorrectionSaysWhatWasWrongAndWhoAgreed(t *testing.T) {
	s := newScene(t)
	crew := form{"on": "2024-01-01", "replaces": "V2", "because": "the name was mistyped", "correctionKind": "CLERICAL"}
	run := s.partOf(t, "Tomasz")
	r := s.change(s.token[groundhand.Coordinator], "withdraw", s.key(), form{"entryId": run, "because": "the wrong person", "kind": "IDENTITY"}, "id")
	assert.Equal(t, []string{"INVALID agreedBy"}, r.problems(), r.body)
	r = s.change(s.token[groundhand.Coordinator], "withdraw", s.key(),
		form{"entryId": run, "because": "the wrong person", "kind": "IDENTITY", "askedBy": s.id["Tomasz"], "agreedBy": s.id["lorcan"]}, "id")
	require.Empty(t, r.Errors, r.body)
	r = s.ask(s.token[groundhand.Auditor], `{ corrections(since: "2025-06-11T00:00:00Z") { edges { node { replacedId kind askedById agreedById } } } }`, nil)
	require.Empty(t, r.Errors, r.body)
	assert.Contains(t, r.body, fmt.Sprintf(`{"replacedId":%q,"kind":"IDENTITY","askedById":%q,"agreedById":%q}`, run, s.id["Tomasz"], s.id["lorcan"]))
	r = s.change(s.token[groundhand.Coordinator], "addCrew", s.key(), with(crewForm("V9"), crew, form{"replaces": nil, "because": nil}), "id")
	assert.Contains(t, r.problems(), "INVALID replaces", "a kind of correction without an entry that is corrected")
}

func TestNobodyRulesOnTheOwnDisputeOrApprovesTheOwnRules(t *testing.T) {
	s := newScene(t)
	dispute := s.make("disputeEntry", form{"entryId": s.partOf(t, "Tomasz"), "claim": "not me"})
	r := s.change(s.token[groundhand.FieldWorker], "ruleOnDispute", s.key(), form{"disputeId": dispute, "outcome": "NOT_UPHELD", "reason": "so there"}, "id")
	assert.Equal(t, []string{"FORBIDDEN"}, r.codes())
	r = s.change(s.token[groundhand.FieldWorker], "disputeEntry", s.key(), form{"entryId": s.partOf(t, "Linh"), "claim": "not her"}, "id")
	assert.Equal(t, []string{"FORBIDDEN entryId"}, r.problems(), r.body)

	proposal := s.make("proposeRules", ruleSetForm(t, s))
	before := s.rows()
	r = s.change(s.token[groundhand.Coordinator], "decideOnRules", s.key(), form{"proposalId": proposal, "decision": "APPROVED", "reason": "mine"}, "approval { id }")
	assert.Equal(t, []string{"FORBIDDEN"}, r.codes(), r.body)
	assert.Equal(t, before, s.rows())
	r = s.ask(s.token[groundhand.Auditor], `{ refusedAttempts(since: "2025-06-11T00:00:00Z") { edges { node { act rule } } } }`, nil)
	require.Empty(t, r.Errors, r.body)
	assert.Contains(t, r.body, `{"act":"decideOnRules","rule":"OWN_PROPOSAL"}`)
	r = s.ask(s.token[groundhand.Coordinator], fmt.Sprintf(`{ rulePreview(ask: {proposal: %q, on: "2026-01-05"}) { on before proposed people out crews { crew { id } out { worker { id } } } caution } }`, proposal), nil)
	require.Empty(t, r.Errors, r.body)
	assert.Contains(t, r.body, `"on":"2026-01-05"`)
	assert.Contains(t, r.body, `"proposed":"R9"`)
	assert.Equal(t, []string{"FORBIDDEN"}, s.ask(s.token[groundhand.Auditor], `{ rulePreview(ask: {ruleSet: "R2"}) { out } }`, nil).codes())
}

func TestASignatureThatCouldNotBeGivenLeadsToReviews(t *testing.T) {
	s := newScene(t)
	for field, f := range map[string]form{
		"findAssessorInvalid": {"assessorId": s.id["Gideon"], "fromOn": "2025-06-10", "toOn": "2025-06-10", "reason": "no authority"},
		"openReview":          {"entryId": s.partOf(t, "Linh"), "cause": "IMPLAUSIBLE", "reason": "no"},
		"closeReview":         {"reviewId": "nobody", "outcome": "STANDS", "reason": "no"},
	} {
		r := s.change(s.token[groundhand.Auditor], field, s.key(), f, "__typename")
		assert.Equal(t, []string{"FORBIDDEN"}, r.codes(), field)
	}
	r := s.change(s.token[groundhand.HR], "reportEvent", s.key(), form{"at": "2025-06-11T10:40:00+01:00", "kind": "NEAR_MISS", "crewId": "V1", "what": "x"}, "id")
	assert.Equal(t, []string{"FORBIDDEN"}, r.codes())
	r = s.change(s.token[groundhand.Dispatcher], "reportEvent", s.key(), form{"kind": "NEAR_MISS", "what": "the rope ran over an edge"}, "id")
	assert.Contains(t, r.problems(), "INVALID at", r.body)
}
