package certificate

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// packOf asks about people under the client's rules on the office's day.
func packOf(people ...groundhand.WorkerID) PackQuestion {
	return PackQuestion{People: people, RuleSet: "R-C", On: day("2025-06-11")}
}

func (o *office) firstAid(who groundhand.WorkerID, on string) {
	add(o, groundhand.OutsideEvidence{ID: o.id(), Recorded: o.told(on), WorkerID: who, Method: groundhand.FirstAid, Issuer: "a first-aid school (invented)",
		Level: groundhand.OriginalSeen, CheckerID: "gideon"})
}

// inHand says of each line of a person what is in hand: the number, MISSING, or nothing.
func (o *office) inHand(q PackQuestion) [][]string {
	people, err := o.issuer.Listed(o.ctx, hr, q)
	require.NoError(o, err)
	var out [][]string
	for _, p := range people {
		said := []string{}
		for _, l := range p.Lines {
			word := string(l.CertificateID)
			if l.Missing() {
				word += "MISSING"
			}
			said = append(said, string(l.Method)+" "+word)
		}
		out = append(out, said)
	}
	return out
}

func numbersIn(certs []groundhand.Certificate) []string {
	out := []string{}
	for _, cert := range certs {
		out = append(out, string(cert.ID)+" "+string(cert.WorkerID)+" "+string(cert.EvidenceKind)+" "+cert.LastGoodDay.String())
	}
	return out
}

func TestMissingCertificatesAreIssuedInOneGo(t *testing.T) {
	o := newOffice(t)
	for _, who := range []groundhand.WorkerID{"lukasz", "serban"} {
		o.firstAid(who, "2025-05-01")
	}
	o.run("lukasz", groundhand.Second, "2025-02-03")
	o.run("serban", groundhand.Lead, "2025-03-03")
	pass := o.assess("serban", groundhand.Pass, "2025-03-03")
	q := packOf("lukasz", "serban", "gideon")
	want := [][]string{{"PAIR_KIT MISSING", "FIRST_AID "}, {"PAIR_KIT MISSING", "FIRST_AID "}, {"PAIR_KIT MISSING", "FIRST_AID "}}
	assert.Equal(t, want, o.inHand(q), "of what rests on outside evidence alone nothing is missing")

	certs, err := o.issuer.IssueMissing(o.ctx, coordinator, "k1", q)
	require.NoError(t, err)
	assert.Equal(t, []string{"2025-0001 lukasz PRACTICE_RUN 2026-02-02", "2025-0002 serban PASSED_ASSESSMENT 2026-03-02", "2025-0003 gideon PRACTICE_RUN 2026-01-09"}, numbersIn(certs))
	assert.Equal(t, pass.ID, certs[1].EvidenceID, "of a run and its assessment on one day, the one that somebody judged")
	for _, cert := range certs {
		assert.Equal(t, groundhand.RuleSetID("R-C"), cert.RuleSetID)
	}
	assert.Equal(t, [][]string{{"PAIR_KIT 2025-0001", "FIRST_AID "}, {"PAIR_KIT 2025-0002", "FIRST_AID "}, {"PAIR_KIT 2025-0003", "FIRST_AID "}}, o.inHand(q))

	again, err := o.issuer.IssueMissing(o.ctx, coordinator, "k1", q)
	require.NoError(t, err)
	assert.Equal(t, numbersIn(certs), numbersIn(again), "the same key gives what was issued")
	none, err := o.issuer.IssueMissing(o.ctx, coordinator, "k2", q)
	require.NoError(t, err)
	assert.Empty(t, none, "nothing is missing any more")
	none, err = o.issuer.IssueMissing(o.ctx, coordinator, "k2", q)
	require.NoError(t, err)
	assert.Empty(t, none)
	_, err = o.issuer.IssueMissing(o.ctx, coordinator, "k1", packOf("lukasz"))
	assert.ErrorIs(t, err, groundhand.CodeConflict, "the key was for another question")
	n, err := store.Count[groundhand.Certificate](o.ctx, o.store, "", nil)
	require.NoError(t, err)
	assert.Equal(t, 3, n)
}

// A certificate under our own rules is none for the client; one that was withdrawn is none any more; a newer practice wants a new one.
func TestWhichCertificatesCount(t *testing.T) {
	o := newOffice(t)
	first := o.run("lukasz", groundhand.Second, "2025-02-03")
	own := o.issue(first.ID, "")
	assert.Equal(t, [][]string{{"PAIR_KIT MISSING", "FIRST_AID "}}, o.inHand(packOf("lukasz")), "it is %s", own.RuleSetID)
	cert := o.issue(first.ID, "R-C")
	assert.Equal(t, [][]string{{"PAIR_KIT " + string(cert.ID), "FIRST_AID "}}, o.inHand(packOf("lukasz")))
	o.run("lukasz", groundhand.Second, "2025-05-05")
	assert.Equal(t, [][]string{{"PAIR_KIT MISSING", "FIRST_AID "}}, o.inHand(packOf("lukasz")), "the last good day is another now")
	certs, err := o.issuer.IssueMissing(o.ctx, coordinator, "k1", packOf("lukasz"))
	require.NoError(t, err)
	require.Len(t, certs, 1)
	assert.Equal(t, "2026-05-04", certs[0].LastGoodDay.String())
	o.clock.Advance(time.Minute)
	o.withdraw(groundhand.EntryID(certs[0].ID))
	assert.Equal(t, [][]string{{"PAIR_KIT MISSING", "FIRST_AID "}}, o.inHand(packOf("lukasz")))
}

// All or none: one name that no page can show keeps all from being issued, and everything in the way is told at once.
func TestNoneIsIssuedWhereOneCannotBe(t *testing.T) {
	o := newOffice(t)
	o.worker("arab", "محمد")
	o.worker("han", "李娜")
	for _, who := range []groundhand.WorkerID{"lukasz", "arab", "han"} {
		o.run(who, groundhand.Second, "2025-02-03")
	}
	_, err := o.issuer.IssueMissing(o.ctx, coordinator, "k1", packOf("lukasz", "arab", "han"))
	fields := []string{}
	for _, e := range groundhand.Refusals(err) {
		fields = append(fields, e.Field)
	}
	assert.Equal(t, []string{"people[1].person", "people[2].person"}, fields)
	n, err := store.Count[groundhand.Certificate](o.ctx, o.store, "", nil)
	require.NoError(t, err)
	assert.Zero(t, n, "the first one could have been issued")
	certs, err := o.issuer.IssueMissing(o.ctx, coordinator, "k1", packOf("lukasz"))
	require.NoError(t, err, "the key was not used up")
	assert.Len(t, certs, 1)
}

// What is over today was good on the day asked about, but a certificate for it could not be issued: it is not missing, and asking for it says why.
func TestWhatIsOverIsNotMissing(t *testing.T) {
	o := newOffice(t)
	o.run("lukasz", groundhand.Second, "2024-05-05")
	q := packOf("lukasz")
	q.On = day("2025-05-01")
	people, err := o.issuer.Listed(o.ctx, hr, q)
	require.NoError(t, err)
	line := people[0].Lines[0]
	assert.True(t, line.Good(), "on the day asked about")
	assert.NotEmpty(t, line.EvidenceID)
	assert.True(t, line.Over)
	assert.False(t, people[0].Misses())
	_, err = o.issuer.IssueMissing(o.ctx, coordinator, "k1", q)
	assert.ErrorContains(t, err, "which is over")
}

func TestWhoMayIssueWhatIsMissing(t *testing.T) {
	o := newOffice(t)
	o.run("lukasz", groundhand.Second, "2025-02-03")
	for _, by := range []groundhand.Account{hr, dispatcher, {}} {
		_, err := o.issuer.IssueMissing(o.ctx, by, "k1", packOf("lukasz"))
		assert.Error(t, err, by.Capacity)
	}
	_, err := o.issuer.Listed(o.ctx, dispatcher, packOf("lukasz"))
	assert.ErrorIs(t, err, groundhand.CodeForbidden)
	_, err = o.issuer.IssueMissing(o.ctx, coordinator, "", packOf("lukasz"))
	assert.ErrorIs(t, err, groundhand.CodeInvalid)
	_, err = o.issuer.IssueMissing(o.ctx, coordinator, "k1", PackQuestion{People: []groundhand.WorkerID{"lukasz", "nobody", "lukasz"}, RuleSet: "R-Q", On: day("2025-06-11")})
	fields := []string{}
	for _, e := range groundhand.Refusals(err) {
		fields = append(fields, e.Field)
	}
	assert.Equal(t, []string{"ruleSet", "people[1]", "people[2]"}, fields)
}

// Who was suspended since is not good, so nothing is missing and nothing is issued.
func TestWhoIsSuspendedGetsNone(t *testing.T) {
	o := newOffice(t)
	o.run("lukasz", groundhand.Second, "2025-02-03")
	add(o, groundhand.Suspension{ID: o.id(), Recorded: o.told("2025-05-05"), WorkerID: "lukasz", Method: groundhand.PairKit, Cause: "critical step missed"})
	certs, err := o.issuer.IssueMissing(o.ctx, coordinator, "k1", packOf("lukasz"))
	require.NoError(t, err)
	assert.Empty(t, certs)
	past := packOf("lukasz")
	past.On = day("2025-05-01")
	_, err = o.issuer.IssueMissing(o.ctx, coordinator, "k2", past)
	refusals := groundhand.Refusals(err)
	require.Len(t, refusals, 1, "good on that day, and suspended today")
	assert.Equal(t, "people[0].evidence", refusals[0].Field)
}
