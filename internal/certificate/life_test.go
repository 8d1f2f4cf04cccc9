package certificate

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

func (o *office) state(id groundhand.CertificateID) State {
	o.Helper()
	return o.states(id)[0]
}

func (o *office) states(ids ...groundhand.CertificateID) []State {
	o.Helper()
	certs, err := store.Find[groundhand.Certificate](o.ctx, o.store, store.ByID, ids)
	require.NoError(o, err)
	states, err := o.issuer.States(o.ctx, certs)
	require.NoError(o, err)
	out := make([]State, len(ids))
	for i, id := range ids {
		out[i] = states[id]
	}
	return out
}

// follow tells the issuer in a transaction, as the desk does, that evidence was corrected or withdrawn.
func (o *office) follow(was, now groundhand.EntryID) {
	o.Helper()
	require.NoError(o, o.store.InTx(o.ctx, func(tx *store.Store) error {
		return o.issuer.Follow(o.ctx, tx, coordinator, was, now, "the wrong date was typed")
	}))
}

// revoked are the numbers whose place is set in the published list, as somebody outside reads it.
func (o *office) revoked() []string {
	o.Helper()
	signed, err := o.issuer.StatusList(o.ctx, 1)
	require.NoError(o, err)
	list, err := credential.ReadStatusList(signed, o.documents)
	require.NoError(o, err)
	all, err := store.All[groundhand.Certificate](o.ctx, o.store)
	require.NoError(o, err)
	out := []string{}
	for _, cert := range all {
		if slices.Contains(list.Set, cert.StatusIndex) {
			out = append(out, string(cert.ID))
		}
	}
	require.Len(o, out, len(list.Set), "no place is set that nobody has")
	return out
}

// documents answers from the published document alone.
func (o *office) documents(id string) (credential.Document, error) {
	published, err := o.issuer.Document(o.ctx)
	require.NoError(o, err)
	d, err := credential.ReadDocument(published)
	require.NoError(o, err)
	if d.ID != id {
		return credential.Document{}, groundhand.NotFound("", "another issuer")
	}
	return d, nil
}

func TestTheLifeOfACertificate(t *testing.T) {
	for name, c := range map[string]struct {
		since func(o *office, parts [3]groundhand.RunPart)
		want  []State // of 2025-0001 to 2025-0003 and of what came in their place
		list  []string
	}{
		"all good": {func(*office, [3]groundhand.RunPart) {}, []State{Valid, Valid, Valid}, []string{}},
		"withdrawn": {func(o *office, _ [3]groundhand.RunPart) { o.withdraw("2025-0002") },
			[]State{Valid, Withdrawn, Valid}, []string{"2025-0002"}},
		"its withdrawal withdrawn, which changes nothing": {func(o *office, _ [3]groundhand.RunPart) { o.withdraw(o.withdraw("2025-0002")) },
			[]State{Valid, Withdrawn, Valid}, []string{"2025-0002"}},
		"replaced": {func(o *office, _ [3]groundhand.RunPart) { o.replace("2025-0001") },
			[]State{Replaced, Valid, Valid, Valid}, []string{"2025-0001"}},
		"replaced, and what came in its place withdrawn": {func(o *office, _ [3]groundhand.RunPart) { o.withdraw(groundhand.EntryID(o.replace("2025-0001").ID)) },
			[]State{Replaced, Valid, Valid, Withdrawn}, []string{"2025-0001", "2025-0004"}},
		"its practice withdrawn": {func(o *office, parts [3]groundhand.RunPart) { o.withdraw(parts[0].ID); o.follow(parts[0].ID, "") },
			[]State{Withdrawn, Valid, Valid}, []string{"2025-0001"}},
		"its practice corrected": {func(o *office, parts [3]groundhand.RunPart) {
			o.follow(parts[0].ID, o.corrected(parts[0], "lukasz").ID)
		},
			[]State{Replaced, Valid, Valid, Valid}, []string{"2025-0001"}},
		"credited to the right person": {func(o *office, parts [3]groundhand.RunPart) {
			o.follow(parts[0].ID, o.corrected(parts[0], "gideon").ID)
		},
			[]State{Replaced, Valid, Valid, Valid}, []string{"2025-0001"}},
		"corrected into what does not count": {func(o *office, parts [3]groundhand.RunPart) {
			wrong := parts[0]
			wrong.Role = groundhand.Casualty
			o.follow(parts[0].ID, o.corrected(wrong, "lukasz").ID)
		}, []State{Withdrawn, Valid, Valid}, []string{"2025-0001"}},
		"suspended since, without its name": {func(o *office, _ [3]groundhand.RunPart) {
			add(o, groundhand.Suspension{ID: o.id(), Recorded: o.told("2025-06-10"), WorkerID: "serban", Method: groundhand.PairKit, Cause: "under review"})
		}, []State{Valid, NoLongerCurrent, Valid}, []string{}},
		"a year later": {func(o *office, _ [3]groundhand.RunPart) { o.clock.Set("2026-05-09T23:59:59+01:00") },
			[]State{NoLongerCurrent, Valid, Valid}, []string{}},
		"a year and a minute later": {func(o *office, _ [3]groundhand.RunPart) { o.clock.Set("2026-05-10T00:00:00+01:00") },
			[]State{NoLongerCurrent, NoLongerCurrent, Valid}, []string{}},
	} {
		t.Run(name, func(t *testing.T) {
			o := newOffice(t)
			parts := o.three()
			o.clock.Advance(minute)
			c.since(o, parts)
			ids := make([]groundhand.CertificateID, len(c.want))
			for i := range ids {
				ids[i] = groundhand.CertificateID(fmt.Sprintf("2025-%04d", i+1))
			}
			assert.Equal(t, c.want, o.states(ids...))
			assert.Equal(t, c.list, o.revoked())
			n, err := store.Count[groundhand.Certificate](o.ctx, o.store, "", nil)
			require.NoError(t, err)
			assert.Equal(t, len(c.want), n)
		})
	}
}

// corrected credits a part in a run anew.
func (o *office) corrected(part groundhand.RunPart, who groundhand.WorkerID) groundhand.RunPart {
	o.Helper()
	o.clock.Advance(minute)
	part.ReplacesID, part.ID = part.ID, o.id()
	part.WorkerID, part.Because, part.RecordedAt = who, "same name, other person", o.store.Now()
	add(o, part)
	return part
}

func (o *office) replace(number groundhand.CertificateID) groundhand.Certificate {
	o.Helper()
	cert, err := o.issuer.Replace(o.ctx, coordinator, "in place of "+string(number), number, "a letter was wrong")
	require.NoError(o, err)
	return cert
}

func TestWhatComesInThePlaceOfAnother(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	first, err := store.Get[groundhand.Certificate](o.ctx, o.store, "2025-0001")
	require.NoError(t, err)
	o.clock.Set("2025-07-01T09:00:00+01:00")
	add(o, groundhand.WorkerName{ID: o.id(), Recorded: o.told("2025-06-20"), WorkerID: "lukasz", Name: "Łukasz Wieland"})
	next := o.replace("2025-0001")
	assert.Equal(t, "2025-0004", string(next.ID))
	assert.Equal(t, "Łukasz Wieland", next.PersonName, "by today's name")
	assert.NotEqual(t, first.CredentialID, next.CredentialID)
	assert.NotEqual(t, first.StatusIndex, next.StatusIndex)
	was, now := o.read(first), o.read(next)
	assert.True(t, was.ValidFrom.Equal(now.ValidFrom), "it answers about the days since the first was given out")
	assert.Equal(t, "2025-07-01T08:00:00Z", now.Created.UTC().Format("2006-01-02T15:04:05Z07:00"), "and says when it was signed")
	assert.Contains(t, now.Achievement.Description, "Issued anew: Tue 1 Jul 2025, in place of 2025-0001")

	again, err := o.issuer.Replace(o.ctx, coordinator, "in place of 2025-0001", "2025-0001", "a letter was wrong")
	require.NoError(t, err)
	assert.Equal(t, next, again, "the same key gives what was made")
	for name, c := range map[string]struct {
		by      groundhand.Account
		key     string
		number  groundhand.CertificateID
		because string
		code    groundhand.Code
		says    string
	}{
		"what was replaced":      {coordinator, "k", "2025-0001", "again", groundhand.CodeConflict, "replaced on Tue 1 Jul 2025"},
		"what there is none of":  {coordinator, "k", "2025-0099", "x", groundhand.CodeNotFound, "2025-0099"},
		"without a reason":       {coordinator, "k", "2025-0002", " ", groundhand.CodeInvalid, "Say why"},
		"without a key":          {coordinator, "", "2025-0002", "x", groundhand.CodeInvalid, "key"},
		"a key of control signs": {coordinator, "a\u202eb", "2025-0002", "x", groundhand.CodeInvalid, "key"},
		"by HR":                  {hr, "k", "2025-0002", "x", groundhand.CodeForbidden, "HR"},
		"a key used otherwise":   {coordinator, "in place of 2025-0001", "2025-0002", "x", groundhand.CodeConflict, "another form"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := o.issuer.Replace(o.ctx, c.by, c.key, c.number, c.because)
			assert.ErrorIs(t, err, c.code)
			assert.ErrorContains(t, err, c.says)
		})
	}
	o.withdraw(parts[1].ID)
	_, err = o.issuer.Replace(o.ctx, coordinator, "k2", "2025-0002", "x")
	assert.ErrorIs(t, err, groundhand.CodeNotFound, "what it rests on is gone, so it is to be withdrawn")
	assert.Equal(t, "2025-0005", string(o.replace("2025-0003").ID), "no refusal took a number")
}

// read reads a certificate as somebody outside does.
func (o *office) read(cert groundhand.Certificate) credential.Found {
	o.Helper()
	found, err := credential.Read([]byte(cert.Signed), o.documents)
	require.NoError(o, err)
	return found
}

func TestARightPersonGetsTheCertificateOfTheWrongOne(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	o.clock.Advance(minute)
	o.follow(parts[0].ID, o.corrected(parts[0], "serban").ID)
	made, err := store.Get[groundhand.Certificate](o.ctx, o.store, "2025-0004")
	require.NoError(t, err)
	assert.Equal(t, groundhand.WorkerID("serban"), made.WorkerID)
	assert.Equal(t, "Șerban Őrségi Đorđević-Ş", o.read(made).Person)
	assert.NotContains(t, made.Signed, "Łukasz")
}

// A desk must be able to put an entry right when the file of the key is lost: the certificate is withdrawn then.
func TestACorrectionWithoutAKeyWithdraws(t *testing.T) {
	o := newOffice(t)
	parts := o.three()
	o.clock.Advance(minute)
	o.loseKeys()
	right := o.corrected(parts[0], "lukasz")
	o.follow(parts[0].ID, right.ID)
	assert.Equal(t, Withdrawn, o.state("2025-0001"))
	_, err := o.issuer.Issue(o.ctx, coordinator, "k", right.ID, "R-C")
	assert.ErrorIs(t, err, groundhand.CodeConflict)
	assert.ErrorContains(t, err, "groundhand key announce")
}
