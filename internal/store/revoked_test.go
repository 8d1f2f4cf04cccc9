package store_test

import (
	"database/sql"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/pressly/goose/v3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	gh "groundhand/internal/groundhand"
	"groundhand/internal/ledger"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

const aKey = "z6MkOne"

// signed gives a store with a key and what a certificate needs.
func signed(t testing.TB, path string) *store.Store {
	t.Helper()
	s := storetest.At(t, path)
	require.NoError(t, store.Add(ctx, s, gh.Worker{ID: "w1", Recorded: storetest.Told(s, day), Number: "1001"}, gh.Worker{ID: "w2", Recorded: storetest.Told(s, day), Number: "1002"}))
	require.NoError(t, store.Add(ctx, s, gh.Assessment{ID: "a1", Recorded: storetest.Told(s, day), WorkerID: "w1", Method: gh.PairKit, Role: gh.Lead, Result: gh.Pass, AssessorID: "w2"}))
	require.NoError(t, store.Add(ctx, s, gh.IssuerKey{ID: aKey, Recorded: storetest.Told(s, day), IssuerID: "did:web:example.org"}))
	return s
}

func aCertificate(s *store.Store, id gh.CertificateID, list, index int) gh.Certificate {
	return gh.Certificate{ID: id, Recorded: storetest.Told(s, day), WorkerID: "w1", PersonName: "Ada Varrow", Employer: "Halverra Lines", Method: gh.PairKit, Role: gh.Lead,
		EvidenceID: "a1", EvidenceKind: gh.PassedAssessment, ShownOn: day, AssessorName: "Bo Tallis", Issuer: "Halverra Lines",
		CredentialID: "credential of " + string(id), KeyID: aKey, IssuerID: "did:web:example.org", StatusList: list, StatusIndex: index, Signed: `{"name":"Ada Varrow"}`}
}

func issue(t testing.TB, s *store.Store, id gh.CertificateID, list, index int, replaces gh.EntryID) {
	t.Helper()
	later(t, s, func(tx *store.Store) gh.Certificate {
		c := aCertificate(tx, id, list, index)
		c.ReplacesID, c.Because = replaces, ""
		if replaces != "" {
			c.Because = "name misspelt"
		}
		return c
	})
}

// W3C Bitstring Status List 1.0, section 2.2: a status of the purpose "revocation" is not reversible.
func TestARevocationIsFinalWhateverHappensLater(t *testing.T) {
	s := signed(t, filepath.Join(t.TempDir(), "records.db"))
	for i, id := range []gh.CertificateID{"C1", "C2", "C3", "C4"} {
		issue(t, s, id, 1, 40-i, "")
	}
	issue(t, s, "D1", 2, 40, "")
	before := s.Now()
	issue(t, s, "C5", 1, 7, "C2")
	aWithdrawal(t, s, "x1", "C1")
	aWithdrawal(t, s, "x2", "x1") // it says that C1 was withdrawn by mistake
	aWithdrawal(t, s, "x3", "C5") // what replaced C2
	aWithdrawal(t, s, "x4", "C3")
	aWithdrawal(t, s, "x5", "C3") // twice is once
	aWithdrawal(t, s, "x6", "D1")

	all, err := store.Revoked(ctx, s)
	require.NoError(t, err)
	var told []gh.CertificateID
	for _, r := range all {
		told = append(told, r.CertificateID)
		assert.Equal(t, r.CertificateID == "C2", r.Replaced, r.CertificateID)
		assert.NotZero(t, r.At)
	}
	assert.Equal(t, []gh.CertificateID{"C2", "C1", "C5", "C3", "D1"}, told, "in the order in which it was told, each once")
	assert.Equal(t, "name misspelt", all[0].Because)
	assert.Equal(t, 39, all[0].StatusIndex)

	first, err := store.RevokedIn(ctx, s, 1)
	require.NoError(t, err)
	assert.Equal(t, all[:4], first)
	among, err := store.RevokedAmong(ctx, s, []gh.CertificateID{"C4", "D1", "C2", "nothing"})
	require.NoError(t, err)
	assert.Equal(t, []store.Revocation{all[0], all[4]}, among)
	none, err := store.RevokedAmong(ctx, s, nil)
	require.NoError(t, err)
	assert.Empty(t, none)

	standing, err := store.Standing[gh.Certificate](ctx, s)
	require.NoError(t, err)
	require.Len(t, standing, 1, "none stands again")
	assert.EqualValues(t, "C4", standing[0].ID)
	require.NoError(t, s.InPast(ctx, before, func(seen *store.Store) error {
		then, err := store.Revoked(ctx, seen)
		assert.Empty(t, then, "as it was known then")
		return err
	}))
	used, err := store.UsedIndexes(ctx, s, 1)
	require.NoError(t, err)
	assert.Equal(t, []int{7, 37, 38, 39, 40}, used, "also of those that were revoked")
	used, err = store.UsedIndexes(ctx, s, 3)
	require.NoError(t, err)
	assert.Empty(t, used)
}

func TestACertificateIsFoundByItsCredentialAndItsKey(t *testing.T) {
	s := signed(t, filepath.Join(t.TempDir(), "records.db"))
	issue(t, s, "C1", 1, 0, "")
	issue(t, s, "C2", 1, 1, "")
	found, err := store.Find[gh.Certificate](ctx, s, store.ByCredential, []string{"credential of C2"})
	require.NoError(t, err)
	require.Len(t, found, 1)
	assert.EqualValues(t, "C2", found[0].ID)
	found, err = store.Find[gh.Certificate](ctx, s, store.ByKey, []string{aKey})
	require.NoError(t, err)
	assert.Len(t, found, 2)
}

func TestTheRecordsRefuseACertificateThatIsNotSignedWhole(t *testing.T) {
	s := signed(t, filepath.Join(t.TempDir(), "records.db"))
	issue(t, s, "C1", 1, 5, "")
	for what, spoil := range map[string]func(*gh.Certificate){
		"a place that is taken":           func(c *gh.Certificate) { c.StatusIndex = 5 },
		"a place after the last":          func(c *gh.Certificate) { c.StatusIndex = 131072 },
		"a place before the first":        func(c *gh.Certificate) { c.StatusIndex = -1 },
		"a credential that is taken":      func(c *gh.Certificate) { c.CredentialID = "credential of C1" },
		"a key that was never announced":  func(c *gh.Certificate) { c.KeyID = "z6MkOther" },
		"no key":                          func(c *gh.Certificate) { c.KeyID = "" },
		"no credential":                   func(c *gh.Certificate) { c.CredentialID = "" },
		"no issuer":                       func(c *gh.Certificate) { c.IssuerID = "" },
		"nothing signed":                  func(c *gh.Certificate) { c.Signed = "" },
		"a list, and nothing signed":      func(c *gh.Certificate) { c.CredentialID, c.KeyID, c.IssuerID, c.Signed = "", "", "", "" },
		"a list that there cannot be":     func(c *gh.Certificate) { c.StatusList = -1 },
		"the number of one that is there": func(c *gh.Certificate) { c.ID = "C1" },
	} {
		c := aCertificate(s, "C2", 1, 6)
		spoil(&c)
		assert.Error(t, store.Add(ctx, s, c), what)
	}
	c := aCertificate(s, "C2", 0, 0) // no public address
	require.NoError(t, store.Add(ctx, s, c))
	c = aCertificate(s, "C3", 0, 0)
	require.NoError(t, store.Add(ctx, s, c), "no list has as many as there are")
}

func TestAKeyNeverComesBack(t *testing.T) {
	s := signed(t, filepath.Join(t.TempDir(), "records.db"))
	change := func(state gh.KeyState) error {
		return s.InTx(ctx, func(tx *store.Store) error {
			return store.Add(ctx, tx, gh.KeyChange{ID: gh.EntryID(tx.NewID()), Recorded: storetest.Told(tx, day), KeyID: aKey, State: state})
		})
	}
	states := func() gh.KeyState {
		keys, err := store.All[gh.IssuerKey](ctx, s)
		require.NoError(t, err)
		changes, err := store.All[gh.KeyChange](ctx, s)
		require.NoError(t, err)
		return gh.KeyStates(keys, changes)[aKey]
	}
	assert.Equal(t, gh.KeyAnnounced, states())
	assert.Error(t, change(gh.KeyAnnounced), "that is no change")
	require.NoError(t, change(gh.KeyActive))
	assert.Equal(t, gh.KeyActive, states())
	assert.Error(t, change(gh.KeyActive), "twice")
	require.NoError(t, change(gh.KeyRetired))
	assert.Error(t, change(gh.KeyActive), "a retired key signs no more")
	assert.Equal(t, gh.KeyRetired, states())
	require.NoError(t, change(gh.KeyCompromised), "an old key may be stolen too")
	assert.Error(t, change(gh.KeyRetired))
	assert.Error(t, change(gh.KeyCompromised))
	assert.Equal(t, gh.KeyCompromised, states())

	again := gh.IssuerKey{ID: "z6MkTwo", Recorded: storetest.Told(s, day), IssuerID: "did:web:example.org"}
	again.ReplacesID = aKey
	assert.Error(t, store.Add(ctx, s, again), "a key is not corrected")
}

// What was signed holds both names, so it goes with either.
func TestWhatWasSignedGoesWithTheNameOfTheWorkerOrOfTheAssessor(t *testing.T) {
	for gone, want := range map[gh.WorkerID][]string{"w1": {"P-1|Bo Tallis|P-1"}, "w2": {"Ada Varrow|P-1|P-1"}} {
		path := filepath.Join(t.TempDir(), "records.db")
		s := signed(t, path)
		issue(t, s, "C1", 1, 3, "")
		before := intact(t, s)
		db := raw(t, path)
		_, err := db.Exec("UPDATE certificates SET signed = 'P-1'")
		require.ErrorContains(t, err, "only added to", "no erasure has this code")
		require.NoError(t, s.InTx(ctx, func(tx *store.Store) error {
			e := gh.Erasure{ID: "e1", Recorded: storetest.Told(tx, day), WorkerID: gone, Code: "P-1", Reason: "asked for"}
			if err := store.Add(ctx, tx, e); err != nil {
				return err
			}
			return tx.EraseNames(ctx, []gh.WorkerID{gone})
		}))
		assert.Equal(t, want, column(t, db, "SELECT person_name || '|' || assessor_name || '|' || signed FROM certificates"))
		assert.Equal(t, []string{"credential of C1|" + aKey + "|did:web:example.org|1|3"},
			column(t, db, "SELECT credential_id || '|' || key_id || '|' || issuer_id || '|' || status_list || '|' || status_index FROM certificates"), "the mark in the list is kept")
		assert.Equal(t, before.Size+1, intact(t, s).Size, "the log still proves everything else")
		for _, c := range []string{"credential_id = ''", "key_id = ''", "issuer_id = 'x'", "status_list = 0", "status_index = 4", "signed = ''", "signed = '{}'", "signed = 'P-1', status_index = 4"} {
			_, err = db.Exec("UPDATE certificates SET " + c)
			assert.ErrorContains(t, err, "only added to", c)
		}
		tamper(t, path, "UPDATE certificates SET signed = '{}'")
		v, err := s.Verify(ctx, nil)
		require.NoError(t, err)
		require.NotNil(t, v.Misfit)
		assert.Equal(t, "signed", v.Misfit.Column)
	}
}

// A file that an older program logged: its certificate has none of the columns of a signed one.
func TestOlderCertificatesKeepTheirPlaceInTheLog(t *testing.T) {
	path := filepath.Join(t.TempDir(), "records.db")
	db := raw(t, path)
	_, err := db.Exec("PRAGMA journal_mode = WAL")
	require.NoError(t, err)
	provider, err := goose.NewProvider(goose.DialectSQLite3, db, os.DirFS("migrations/sqlite"))
	require.NoError(t, err)
	_, err = provider.UpTo(ctx, 8)
	require.NoError(t, err)
	var edge ledger.Frontier
	insert(t, db, "workers", "w1", cells{"number": "1001"})
	logOlder(t, db, &edge, "workers", "w1", "number")
	insert(t, db, "certificates", "2025-0001", cells{"worker_id": "w1", "person_name": "Ada Varrow", "employer": "Halverra Lines", "method": "PAIR_KIT", "role": "LEAD", "family_id": nil,
		"evidence_id": "a1", "evidence_kind": "PASSED_ASSESSMENT", "shown_on": "2025-03-28", "assessor_name": "Bo Tallis", "last_good_day": nil, "rule_set_id": nil, "issuer": "Halverra Lines",
		"check_address": "https://example.org/2025-0001", "capacity": "COORDINATOR"})
	logOlder(t, db, &edge, "certificates", "2025-0001", "person_name", "assessor_name")
	_, err = db.Exec("INSERT INTO log_origin VALUES ('groundhand/old', 1)")
	require.NoError(t, err)
	require.NoError(t, db.Close())

	s := storetest.At(t, path)
	v := intact(t, s)
	assert.EqualValues(t, 2, v.Size)
	assert.Equal(t, edge.Root(), v.Root)
	proof, err := s.InclusionProof(ctx, "certificates", "2025-0001")
	require.NoError(t, err)
	assert.NotContains(t, string(proof.Record), "signed\":")
	got, err := store.Get[gh.Certificate](ctx, s, "2025-0001")
	require.NoError(t, err)
	assert.Zero(t, got.CredentialID+got.KeyID+got.IssuerID+got.Signed)
	assert.Zero(t, got.StatusList+got.StatusIndex)
}

// logOlder makes the leaf of the one row of a table as a program did that knew the columns which the table has now.
func logOlder(t *testing.T, db *sql.DB, edge *ledger.Frontier, table, id string, hidden ...string) {
	t.Helper()
	salt := make([]byte, ledger.SaltSize)
	var record []ledger.Cell
	for _, c := range columnsOf(t, db, table) {
		var value any
		require.NoError(t, db.QueryRow("SELECT "+c+" FROM "+table+" WHERE id = ?", id).Scan(&value))
		if slices.Contains(hidden, c) {
			digest := ledger.Seal(salt, value.(string))
			_, err := db.Exec("INSERT INTO seals (n, field, salt, digest) VALUES (?, ?, ?, ?)", edge.Size(), c, salt, digest[:])
			require.NoError(t, err)
			value = digest
		}
		record = append(record, ledger.Cell{Column: c, Value: value})
	}
	leaf, err := ledger.Record(table, record)
	require.NoError(t, err)
	n := edge.Size()
	var hashes []byte
	for _, h := range edge.Add(ledger.LeafHash(leaf)) {
		hashes = append(hashes, h[:]...)
	}
	_, err = db.Exec("INSERT INTO leaves (n, kind, entry_id, hashes) VALUES (?, ?, ?, ?)", n, table, id, hashes)
	require.NoError(t, err)
}

// The check page asks about one certificate at a time, and anybody may ask it.
func TestOneCertificateIsAskedAboutWithoutReadingThemAll(t *testing.T) {
	s := signed(t, filepath.Join(t.TempDir(), "records.db"))
	for _, query := range []string{store.RevokedAmongQuery(), store.UsedIndexesQuery()} {
		lines, err := store.PlanOf(s, query)
		require.NoError(t, err)
		require.NotEmpty(t, lines)
		for _, scan := range []string{"SCAN w", "SCAN r", "SCAN c", "SCAN certificates", "SCAN withdrawals", "TEMP B-TREE FOR GROUP"} {
			assert.False(t, slices.ContainsFunc(lines, func(l string) bool { return l == scan || strings.HasPrefix(l, scan+" ") }), "%s: %s", scan, lines)
		}
	}
}
