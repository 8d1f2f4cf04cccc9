package access_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/access"
	gh "groundhand/internal/groundhand"
	"groundhand/internal/store"
	"groundhand/internal/store/storetest"
)

var (
	ctx = context.Background()
	day = gh.MustDate("2025-06-02")
)

func door(t *testing.T) (*access.Door, *store.Store, string) {
	path := filepath.Join(t.TempDir(), "records.db")
	s := storetest.At(t, path)
	require.NoError(t, store.Add(ctx, s, gh.Worker{ID: "w", Recorded: storetest.Told(s, day)}))
	return access.NewDoor(s, rand.Reader), s, path
}

func TestATokenOpensTheDoorForItsAccount(t *testing.T) {
	d, _, _ := door(t)
	one, first, err := d.AddAccount(ctx, "  Henrike Amadi-Solbakk ", gh.Coordinator, "w")
	require.NoError(t, err)
	assert.Equal(t, "Henrike Amadi-Solbakk", one.Name)
	two, second, err := d.AddAccount(ctx, "Petra Vanterpool-Ek", gh.Dispatcher, "")
	require.NoError(t, err)
	assert.Regexp(t, `^gh_[A-Za-z0-9_-]{43}$`, first)
	assert.NotEqual(t, first, second)
	for token, want := range map[string]gh.Account{first: one, second: two} {
		got, err := d.Open(ctx, token)
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	third, err := d.AddToken(ctx, one.ID)
	require.NoError(t, err)
	got, err := d.Open(ctx, third)
	require.NoError(t, err)
	assert.Equal(t, one, got)
}

func TestRefusalsSayTheSameWhateverIsWrong(t *testing.T) {
	d, s, _ := door(t)
	account, token, err := d.AddAccount(ctx, "Petra Vanterpool-Ek", gh.Dispatcher, "")
	require.NoError(t, err)
	_, _, err = d.AddAccount(ctx, "Idris Callowhill", gh.Dispatcher, "")
	require.NoError(t, err)
	n, err := d.Revoke(ctx, account.ID)
	require.NoError(t, err)
	assert.Equal(t, 1, n)
	sum := sha256.Sum256([]byte(token))
	var seen []string
	for name, wrong := range map[string]string{
		"revoked": token, "absent": "", "another": "gh_" + strings.Repeat("A", 43), "the start alone": "gh_", "cut": token[:45],
		"longer": token + "A", "other letters": strings.ToUpper(token), "without its start": strings.TrimPrefix(token, "gh_"),
		"the digest": hex.EncodeToString(sum[:]), "SQL": "' OR ''='", "no text": "\x00\xff", "long": strings.Repeat("x", 1<<20),
	} {
		_, err := d.Open(ctx, wrong)
		require.ErrorIs(t, err, gh.CodeUnauthenticated, name)
		seen = append(seen, err.Error())
	}
	for _, text := range seen {
		assert.Equal(t, seen[0], text)
	}
	assert.Equal(t, seen[0], access.May(gh.Account{}, access.ReadRoster).Error())
	tokens, err := store.All[gh.Token](ctx, s)
	require.NoError(t, err)
	require.Len(t, tokens, 2)
	assert.False(t, tokens[0].RevokedAt.IsZero())
	assert.True(t, tokens[1].RevokedAt.IsZero(), "the other account's is still good")
}

func TestRevokingAgainChangesNothingAndNobodyIsNotFound(t *testing.T) {
	d, _, _ := door(t)
	account, old, err := d.AddAccount(ctx, "Petra Vanterpool-Ek", gh.Dispatcher, "")
	require.NoError(t, err)
	for _, want := range []int{1, 0} {
		n, err := d.Revoke(ctx, account.ID)
		require.NoError(t, err)
		assert.Equal(t, want, n)
	}
	fresh, err := d.AddToken(ctx, account.ID)
	require.NoError(t, err)
	_, err = d.Open(ctx, fresh)
	assert.NoError(t, err)
	_, err = d.Open(ctx, old)
	assert.ErrorIs(t, err, gh.CodeUnauthenticated)
	_, err = d.Revoke(ctx, "nobody")
	assert.ErrorIs(t, err, gh.CodeNotFound)
	_, err = d.AddToken(ctx, "nobody")
	assert.ErrorIs(t, err, gh.CodeInvalid)
}

func TestNoTokenIsInTheFile(t *testing.T) {
	d, _, path := door(t)
	_, token, err := d.AddAccount(ctx, "Petra Vanterpool-Ek", gh.Dispatcher, "")
	require.NoError(t, err)
	sum := sha256.Sum256([]byte(token))
	var all []byte
	files, err := filepath.Glob(path + "*")
	require.NoError(t, err)
	for _, name := range files {
		content, err := os.ReadFile(name)
		require.NoError(t, err)
		all = append(all, content...)
	}
	assert.True(t, bytes.Contains(all, []byte(hex.EncodeToString(sum[:]))), "the digest is there, so this is the right file")
	assert.False(t, bytes.Contains(all, []byte(token)))
	assert.False(t, bytes.Contains(all, []byte(strings.TrimPrefix(token, "gh_"))))
}

func TestAllThatIsWrongWithAnAccountIsSaidAtOnce(t *testing.T) {
	d, s, _ := door(t)
	fields := func(name string, c gh.Capacity, w gh.WorkerID) (out []string) {
		_, token, err := d.AddAccount(ctx, name, c, w)
		require.Error(t, err)
		assert.Empty(t, token)
		for _, r := range gh.Refusals(err) {
			assert.Equal(t, gh.CodeInvalid, r.Code)
			out = append(out, r.Field)
		}
		return out
	}
	assert.Equal(t, []string{"name", "capacity"}, fields(" ", "BOSS", ""))
	assert.Equal(t, []string{"capacity"}, fields("The service", gh.Program, ""))
	assert.Equal(t, []string{"workerId"}, fields("A foreman", gh.CrewForeman, ""))
	assert.Equal(t, []string{"workerId"}, fields("A worker", gh.FieldWorker, ""))
	assert.Equal(t, []string{"workerId"}, fields("A worker", gh.FieldWorker, "nobody"))
	n, err := store.Count[gh.Account](ctx, s, "", nil)
	require.NoError(t, err)
	assert.Zero(t, n)
}

func TestWithoutChanceNoAccount(t *testing.T) {
	_, s, _ := door(t)
	for name, d := range map[string]*access.Door{
		"none":       access.NewDoor(s, iotest.ErrReader(errors.New("no chance"))),
		"not enough": access.NewDoor(s, bytes.NewReader(make([]byte, 31))),
	} {
		_, token, err := d.AddAccount(ctx, "Petra Vanterpool-Ek", gh.Dispatcher, "")
		require.Error(t, err, name)
		assert.Empty(t, gh.Refusals(err))
		assert.Empty(t, token)
	}
	n, err := store.Count[gh.Account](ctx, s, "", nil)
	require.NoError(t, err)
	assert.Zero(t, n, "no account without a token")
}

func TestAForemanReachesTheOwnCrewOfTheDay(t *testing.T) {
	_, s, _ := door(t)
	told := storetest.Told(s, day)
	require.NoError(t, store.Add(ctx, s, gh.Worker{ID: "maren", Recorded: told}, gh.Worker{ID: "tomasz", Recorded: told}, gh.Worker{ID: "lent", Recorded: told}))
	require.NoError(t, store.Add(ctx, s, gh.Crew{ID: "V1", Recorded: told, Kind: gh.LineCrew}, gh.Crew{ID: "V2", Recorded: told, Kind: gh.LineCrew}))
	member := func(id gh.EntryID, c gh.CrewID, w gh.WorkerID, part gh.CrewPart, from, to string) gh.Membership {
		m := gh.Membership{ID: id, Recorded: told, CrewID: c, WorkerID: w, Part: part, Reason: gh.Permanent, FromOn: gh.MustDate(from)}
		if to != "" {
			m.ToOn = gh.MustDate(to)
		}
		return m
	}
	require.NoError(t, store.Add(ctx, s,
		member("1", "V1", "maren", gh.Foreman, "2025-01-01", ""), member("2", "V1", "tomasz", gh.Member, "2025-01-01", ""),
		member("3", "V1", "lent", gh.Member, "2025-06-10", "2025-06-10"), member("4", "V2", "w", gh.Member, "2025-01-01", "")))
	maren := gh.Account{ID: "a", Capacity: gh.CrewForeman, WorkerID: "maren"}
	about := func(act access.Act, who gh.WorkerID, on string) error {
		return access.MayAbout(ctx, s, maren, act, who, gh.MustDate(on))
	}
	assert.NoError(t, about(access.RecordDrill, "tomasz", "2025-06-02"))
	assert.NoError(t, about(access.RecordDrill, "lent", "2025-06-10"))
	assert.ErrorIs(t, about(access.RecordDrill, "lent", "2025-06-11"), gh.CodeForbidden, "the loan is over")
	assert.ErrorIs(t, about(access.RecordDrill, "w", "2025-06-02"), gh.CodeForbidden, "another crew")
	assert.ErrorIs(t, about(access.Assess, "tomasz", "2025-06-02"), gh.CodeForbidden)
	assert.NoError(t, access.MayCrew(ctx, s, maren, access.ReadCover, "V1", day))
	assert.ErrorIs(t, access.MayCrew(ctx, s, maren, access.ReadCover, "V2", day), gh.CodeForbidden)
	assert.ErrorIs(t, access.MayCrew(ctx, s, maren, access.ReadCover, "V1", gh.MustDate("2024-12-31")), gh.CodeForbidden)

	tomasz := gh.Account{ID: "b", Capacity: gh.FieldWorker, WorkerID: "tomasz"}
	assert.NoError(t, access.MayAbout(ctx, s, tomasz, access.ReadOwn, "tomasz", day))
	assert.ErrorIs(t, access.MayAbout(ctx, s, tomasz, access.ReadOwn, "maren", day), gh.CodeForbidden)
	assert.ErrorIs(t, access.MayCrew(ctx, s, tomasz, access.ReadCover, "V1", day), gh.CodeForbidden)
	dispatcher := gh.Account{ID: "c", Capacity: gh.Dispatcher}
	assert.NoError(t, access.MayCrew(ctx, s, dispatcher, access.ReadCover, "V2", day))
	assert.NoError(t, access.MayAbout(ctx, s, dispatcher, access.ReadStanding, "w", day))
}
