package credential

import (
	"crypto/ed25519"
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/groundhand"
)

func fields(err error) []string {
	var out []string
	for _, r := range groundhand.Refusals(err) {
		out = append(out, r.Field)
	}
	return out
}

// The library writes control characters into the canonical form as an older algorithm did, so a signature over them fails elsewhere;
// a text that was read wrongly once is not made better by a signature.
func TestTextsThatCouldBeReadOtherwiseAreNotSigned(t *testing.T) {
	for what, text := range map[string]string{
		"backspace": "a\bb", "form feed": "a\fb", "nul": "a\x00b", "escape": "a\x1bb", "delete": "a\x7fb", "tab": "a\tb", "carriage return": "a\rb",
		"next line": "a\u0085b", "replacement character": "a\ufffdb", "not UTF-8": "a\xffb", "half a surrogate": "a\xed\xa0\x80b", "Latin-1": "Stra\xdfe",
	} {
		c := sample()
		for path, field := range map[string]*string{
			"name": &c.Name, "issuerName": &c.IssuerName, "person": &c.Person, "number": &c.Number, "role": &c.Role, "assessor": &c.Assessor,
			"achievement.name": &c.Achievement.Name, "achievement.description": &c.Achievement.Description, "achievement.code": &c.Achievement.Code,
			"achievement.version": &c.Achievement.Version, "achievement.criteria": &c.Achievement.Criteria,
			"achievement.alignment[0].name": &c.Achievement.Alignment[0].Name, "achievement.alignment[0].framework": &c.Achievement.Alignment[0].Framework,
			"achievement.alignment[0].code": &c.Achievement.Alignment[0].Code,
		} {
			kept := *field
			*field = text
			_, err := Sign(c, key, issued)
			require.Equal(t, []string{path}, fields(err), what)
			require.ErrorIs(t, err, groundhand.CodeInvalid)
			*field = kept
		}
	}
	c := sample()
	c.Person = "two\nlines"
	_, err := Sign(c, key, issued)
	require.Equal(t, []string{"person"}, fields(err))
}

func TestAllThatIsWrongIsSaidAtOnce(t *testing.T) {
	half := issued.Add(time.Second / 2)
	mean := time.FixedZone("mean time", -5*3600-50*60-36) // Chicago before 1883: no offset of RFC 3339
	_, err := Sign(Credential{
		ID: "urn:uuid:7b0a5f3e-6c1d-1b86-9a2f-3d5c8e417f60", IssuerID: "did:web:a b", IssuerURL: "http://x.example",
		ValidFrom: half, ValidUntil: issued.AddDate(9000, 0, 0), Status: &Status{"https://x.example/status/1#", ListLength},
		ShownFrom: issued.In(mean), Role: " ", Outcome: "Failed",
		Achievement: Achievement{Type: "Badge", Alignment: []Alignment{{URL: "ftp://x.example"}}},
	}, nil, time.Time{})
	require.Equal(t, []string{"id", "name", "issuerId", "issuerName", "issuerUrl", "validFrom", "validUntil", "status.list", "status.index",
		"person", "number", "shownFrom", "shownThrough", "role", "achievement.id", "achievement.type", "achievement.name",
		"achievement.description", "achievement.criteria", "achievement.alignment[0].name", "achievement.alignment[0].url",
		"outcomeId", "outcome", "created", "key"}, fields(err))
	require.Equal(t, fields(err)[:len(fields(err))-2], fields(Credential{
		ID: "x", IssuerID: "did:web:", IssuerURL: "x", ValidFrom: half, ValidUntil: half, Status: &Status{"", -1}, Role: "\t",
		Achievement: Achievement{Alignment: []Alignment{{}}}}.Check()))
}

func TestPeriodsDoNotEndBeforeTheyBegin(t *testing.T) {
	c := sample()
	c.ValidUntil, c.ShownThrough = c.ValidFrom.Add(-time.Second), c.ShownFrom.Add(-time.Second)
	require.Equal(t, []string{"validUntil", "shownThrough"}, fields(c.Check()))
	c.ValidUntil, c.ShownThrough = c.ValidFrom, c.ShownFrom
	require.NoError(t, c.Check())
	c.Achievement.Alignment = make([]Alignment, mostAlignments+1)
	require.Equal(t, []string{"achievement.alignment"}, fields(c.Check()))
}

func TestAnIssuerThatIsAKeySignsWithItAlone(t *testing.T) {
	c := sample()
	c.IssuerID = KeyIssuer(public(keyOf("b")))
	_, err := Sign(c, key, issued)
	require.Equal(t, []string{"issuerId"}, fields(err))
	data, err := Sign(c, keyOf("b"), issued)
	require.NoError(t, err)
	found, err := Read(data, nil)
	require.NoError(t, err)
	require.Equal(t, c.IssuerID, "did:key:"+found.KeyID)
	_, err = Sign(c, ed25519.PrivateKey(strings.Repeat("x", ed25519.PrivateKeySize)), issued)
	require.Equal(t, []string{"key"}, fields(err), "the public half is not that of the private one")
}

func TestWhatIsTooLargeToBeReadIsNotSigned(t *testing.T) {
	c := sample()
	c.Achievement.Criteria = strings.Repeat("Shown again. ", Largest/13)
	_, err := Sign(c, key, issued)
	require.ErrorIs(t, err, groundhand.CodeTooLarge)
	c.Achievement.Criteria = strings.Repeat("Shown again. ", Largest/13-300)
	_, err = Read(signed(t, c), published(webID, multikey(key)))
	require.NoError(t, err)
}

// The same certificate gives the same bytes, compact and with what a streaming reader needs first in front.
func TestTheBytesAreTheSameEachTime(t *testing.T) {
	first := string(signed(t, sample()))
	require.Equal(t, first, string(signed(t, sample())))
	require.True(t, strings.HasPrefix(first, `{"@context":["https://www.w3.org/ns/credentials/v2","https://purl.imsglobal.org/spec/ob/v3p0/context-3.0.3.json"],`+
		`"type":["VerifiableCredential","OpenBadgeCredential"],"id":"urn:uuid:7b0a5f3e-6c1d-4b86-9a2f-3d5c8e417f60",`), first)
	require.NotContains(t, first, "\n")
	require.Contains(t, first, `"created":"2027-03-01T09:30:00Z"`)
	require.Contains(t, first, `"validUntil":"2028-02-29T23:59:59-06:00"`)
	elsewhere, err := Sign(sample(), key, issued.In(prairie))
	require.NoError(t, err)
	require.Equal(t, first, string(elsewhere), "the proof is dated in UTC")
}

// The document is asked about once the file is sound, and what it says decides.
func TestWhoseKeyItIs(t *testing.T) {
	data := signed(t, sample())
	_, err := Read(data, nil)
	requireCode(t, UnknownIssuer, err)
	_, err = Read(data, published("did:web:other.example", multikey(key)))
	requireCode(t, UnknownIssuer, err)
	_, err = Read(data, func(string) (Document, error) { return Document{"did:web:other.example", []string{multikey(key)}}, nil })
	requireCode(t, UnknownIssuer, err, "the document of somebody else")
	_, err = Read(data, published(webID))
	requireCode(t, UnknownKey, err)
	_, err = Read(data, published(webID, multikey(keyOf("b"))))
	requireCode(t, UnknownKey, err)
	broken := errors.New("the disk is gone")
	_, err = Read(data, func(string) (Document, error) { return Document{}, broken })
	require.Same(t, broken, err)
	_, err = Read(data, published(webID, multikey(keyOf("b")), multikey(key)))
	require.NoError(t, err, "a retired key beside the new one")
}

// Two certificates of one assessor do not share an id of theirs.
func TestTheAssessorHasAnotherIDInEachCertificate(t *testing.T) {
	a, b := sourceID(sample().ID), sourceID("urn:uuid:7b0a5f3e-6c1d-4b86-9a2f-3d5c8e417f61")
	require.NotEqual(t, a, b)
	require.Regexp(t, anyUUID, a)
	require.Equal(t, a, sourceID(sample().ID))
}

func TestCurrentAt(t *testing.T) {
	c := sample()
	for at, want := range map[time.Time]bool{
		c.ValidFrom.Add(-time.Second): false, c.ValidFrom: true, c.ValidUntil: true, c.ValidUntil.Add(time.Second): false,
		c.ValidUntil.UTC(): true,
	} {
		require.Equal(t, want, c.CurrentAt(at), at)
	}
	c.ValidUntil = time.Time{}
	require.True(t, c.CurrentAt(issued.AddDate(1000, 0, 0)))
}

// Whatever can be signed is read as the same; whatever cannot is refused by Check already.
func TestAnythingSignedIsReadTheSame(t *testing.T) {
	line := rapid.OneOf(rapid.SampledFrom(names), rapid.String(), rapid.StringMatching(`[A-Za-zŁőặø "'\\]{1,20}`))
	maybe := rapid.OneOf(rapid.Just(""), line)
	moment := rapid.Custom(func(t *rapid.T) time.Time {
		zone := time.UTC
		if minutes := rapid.IntRange(-14*60, 14*60).Draw(t, "offset"); minutes != 0 {
			zone = time.FixedZone("", minutes*60)
		}
		return time.Unix(rapid.Int64Range(0, 1<<34).Draw(t, "second"), 0).In(zone)
	})
	rapid.Check(t, func(t *rapid.T) {
		c := sample()
		c.ID = "urn:uuid:" + rapid.StringMatching(`[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}`).Draw(t, "id")
		c.Name, c.IssuerName, c.Person, c.Number = line.Draw(t, "name"), line.Draw(t, "issuer"), line.Draw(t, "person"), line.Draw(t, "number")
		c.Role, c.Assessor = maybe.Draw(t, "role"), maybe.Draw(t, "assessor")
		c.Achievement.Criteria = strings.Join(rapid.SliceOfN(line, 1, 4).Draw(t, "criteria"), "\n")
		c.Achievement.Code, c.Achievement.Version = maybe.Draw(t, "code"), maybe.Draw(t, "version")
		c.Achievement.Alignment = nil
		for i := range rapid.IntRange(0, 4).Draw(t, "rules") {
			c.Achievement.Alignment = append(c.Achievement.Alignment, Alignment{line.Draw(t, "rule"), maybe.Draw(t, "frame"), maybe.Draw(t, "code"), fmt.Sprintf("https://rules.example/%d", i%2)})
		}
		c.ValidFrom, c.ShownFrom = moment.Draw(t, "from"), moment.Draw(t, "shown")
		c.ValidUntil, c.ShownThrough = moment.Draw(t, "until"), moment.Draw(t, "through")
		c.Status = nil
		if rapid.Bool().Draw(t, "listed") {
			c.Status = &Status{"https://x.example/status/2", rapid.IntRange(-1, ListLength).Draw(t, "index")}
		}
		data, err := Sign(c, key, issued)
		require.Equal(t, c.Check() == nil, err == nil)
		if err != nil {
			require.NotEmpty(t, groundhand.Refusals(err))
			return
		}
		if len(c.Achievement.Alignment) == 0 {
			c.Achievement.Alignment = nil
		}
		found, err := Read(data, published(webID, multikey(key)))
		require.NoError(t, err)
		require.Equal(t, Found{c, multikey(key), issued}, found)
	})
}

// Certificates are signed on all cores: the contexts, which all share, are never written to.
func TestSigningSideBySide(t *testing.T) {
	want := signed(t, sample())
	var group sync.WaitGroup
	for range 8 {
		group.Go(func() {
			data, err := Sign(sample(), key, issued)
			assert.NoError(t, err)
			assert.Equal(t, string(want), string(data))
			_, err = Read(data, published(webID, multikey(key)))
			assert.NoError(t, err)
		})
	}
	group.Wait()
}
