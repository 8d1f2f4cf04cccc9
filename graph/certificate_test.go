package graph_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
)

// certified is what the API tells of a certificate.
type certified struct {
	ID, PersonName, RuleSetID, State, ReplacedBy, Replaces, CredentialID, KeyID, Fingerprint, CheckAddress string
	Since, Because                                                                                         *string
	Signed                                                                                                 bool
	Worker                                                                                                 struct{ Number string }
	Recorded                                                                                               struct{ Because string }
}

const fate = `id personName ruleSetId state since replacedBy replaces credentialId keyId fingerprint checkAddress signed recorded { because }`

func (s *scene) issue(evidence string, ruleSet any) string {
	s.t.Helper()
	r := s.ask(s.token[groundhand.Coordinator], `mutation($key: String!, $e: ID!, $r: ID) { issueCertificate(key: $key, evidence: $e, ruleSet: $r) { id state } }`,
		form{"key": s.key(), "e": evidence, "r": ruleSet})
	require.Empty(s.t, r.Errors, r.body)
	var made certified
	require.NoError(s.t, json.Unmarshal(r.Data["issueCertificate"], &made))
	require.Equal(s.t, "VALID", made.State)
	return made.ID
}

func (s *scene) certificate(who groundhand.Capacity, id, fields string, asKnownAt any) (out certified, r reply) {
	s.t.Helper()
	r = s.ask(s.token[who], `query($id: ID!, $k: DateTime) { certificate(id: $id, asKnownAt: $k) { `+fields+` } }`, form{"id": id, "k": asKnownAt})
	require.NoError(s.t, json.Unmarshal(r.Data["certificate"], &out), r.body)
	return out, r
}

// download gets a file with its headers.
func (s *scene) download(who groundhand.Capacity, path string) (*http.Response, []byte) {
	s.t.Helper()
	req, err := http.NewRequest(http.MethodGet, s.server.URL+path, nil)
	require.NoError(s.t, err)
	req.Header.Set("Authorization", "Bearer "+s.token[who])
	res, err := s.server.Client().Do(req)
	require.NoError(s.t, err)
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	require.NoError(s.t, err)
	return res, data
}

// From issue over a replacement to a withdrawal; what has ended is final and is handed out no more.
func TestTheLifeOfACertificateThroughTheAPI(t *testing.T) {
	s := newScene(t)
	first := s.issue(s.make("assess", assessmentForm(s.id)), nil)
	before, r := s.certificate(groundhand.HR, first, fate, nil)
	require.Empty(t, r.Errors, r.body)
	assert.Equal(t, "VALID true", fmt.Sprint(before.State, " ", before.Signed))
	assert.Nil(t, before.Since)
	assert.Empty(t, before.ReplacedBy+before.Replaces)
	assert.Equal(t, "https://halverra.example/verify/"+before.CredentialID, before.CheckAddress)
	signed := s.bothFiles(t, before)

	while := s.clock.Now().Add(time.Minute).Format(time.RFC3339)
	s.clock.Advance(time.Hour)
	replace := `mutation($key: String!, $n: ID!, $b: String!) { replaceCertificate(key: $key, number: $n, because: $b) { ` + fate + ` } }`
	vars := form{"key": s.key(), "n": first, "b": "the name was misspelt, says the mother"}
	r = s.ask(s.token[groundhand.Coordinator], replace, vars)
	require.Empty(t, r.Errors, r.body)
	assert.Equal(t, r.body, s.ask(s.token[groundhand.Coordinator], replace, vars).body, "the same key makes no third")
	var fresh certified
	require.NoError(t, json.Unmarshal(r.Data["replaceCertificate"], &fresh))
	assert.Equal(t, "2025-0002 VALID 2025-0001 the name was misspelt, says the mother", strings.Join([]string{fresh.ID, fresh.State, fresh.Replaces, fresh.Recorded.Because}, " "))
	assert.NotEqual(t, before.CredentialID, fresh.CredentialID)
	s.bothFiles(t, fresh)

	old, r := s.certificate(groundhand.Coordinator, first, fate+` because`, nil)
	require.Empty(t, r.Errors, r.body)
	assert.Equal(t, "REPLACED 2025-06-11 2025-0002 the name was misspelt, says the mother", strings.Join([]string{old.State, *old.Since, old.ReplacedBy, *old.Because}, " "))
	assert.False(t, old.Signed)
	assert.Equal(t, before.Fingerprint, old.Fingerprint)
	s.noFiles(t, first, "was replaced on")
	then, _ := s.certificate(groundhand.Auditor, first, fate, while)
	assert.Equal(t, before, then, "as it was known")

	s.make("withdraw", form{"entryId": fresh.ID, "because": "the assessor was not entitled"})
	gone, _ := s.certificate(groundhand.Auditor, fresh.ID, fate+` because`, nil)
	assert.Equal(t, "WITHDRAWN 2025-06-11 the assessor was not entitled", strings.Join([]string{gone.State, *gone.Since, *gone.Because}, " "))
	s.noFiles(t, fresh.ID, "was withdrawn on")
	assert.NotEmpty(t, signed)
	assert.Empty(t, s.log.String())
}

// bothFiles downloads page and signed file, and finds the one in the other.
func (s *scene) bothFiles(t *testing.T, c certified) []byte {
	res, signed := s.download(groundhand.HR, "/certificates/"+c.ID+".json")
	assert.Equal(t, http.StatusOK, res.StatusCode)
	assert.Equal(t, "application/vc", res.Header.Get("Content-Type"))
	assert.Equal(t, `attachment; filename="`+c.ID+`.json"`, res.Header.Get("Content-Disposition"))
	assert.EqualValues(t, len(signed), res.ContentLength)
	document, err := s.root.Issuer.Document(t.Context())
	require.NoError(t, err)
	found, err := credential.Read(signed, func(string) (credential.Document, error) { return credential.ReadDocument(document) })
	require.NoError(t, err)
	assert.Equal(t, c.ID, found.Number)
	assert.Equal(t, "urn:uuid:"+c.CredentialID, found.ID)
	assert.Equal(t, c.KeyID, found.KeyID)

	res, page := s.download(groundhand.Auditor, "/certificates/"+c.ID+".pdf")
	assert.Equal(t, http.StatusOK, res.StatusCode)
	assert.Equal(t, "application/pdf", res.Header.Get("Content-Type"))
	attached, err := paper.Attached(page)
	require.NoError(t, err)
	assert.Equal(t, [][]byte{signed}, attached, "byte for byte")
	return signed
}

func (s *scene) noFiles(t *testing.T, number, why string) {
	for _, ending := range []string{".pdf", ".json"} {
		r := s.send(s.token[groundhand.Coordinator], http.MethodGet, "/certificates/"+number+ending, "", nil)
		assert.Equal(t, http.StatusConflict, r.status)
		assert.Equal(t, []string{"CONFLICT number"}, r.problems(), r.body)
		assert.Contains(t, r.body, why)
	}
}

func TestTheEndOfACertificateIsFinal(t *testing.T) {
	s := newScene(t)
	number := s.issue(s.make("assess", assessmentForm(s.id)), nil)
	coordinator := s.token[groundhand.Coordinator]
	replace := `mutation($key: String!, $n: ID!, $b: String!) { replaceCertificate(key: $key, number: $n, because: $b) { id } }`
	for _, c := range []struct {
		vars form
		want []string
	}{
		{form{"key": "", "n": number, "b": " "}, []string{"INVALID key", "INVALID because"}},
		{form{"key": s.key(), "n": "2025-0099", "b": "x"}, []string{"NOT_FOUND number"}},
		{form{"key": s.key(), "n": number, "b": strings.Repeat("x", 2001)}, []string{"INVALID because"}},
		{form{"key": s.key(), "n": "' OR 1=1", "b": "x"}, []string{"NOT_FOUND number"}},
	} {
		before := s.rows()
		r := s.ask(coordinator, replace, c.vars)
		assert.Equal(t, c.want, r.problems(), r.body)
		assert.Equal(t, before, s.rows())
	}
	assert.Equal(t, []string{"FORBIDDEN"}, s.ask(s.token[groundhand.HR], replace, form{"key": s.key(), "n": number, "b": "x"}).codes())

	gone := s.make("withdraw", form{"entryId": number, "because": "never shown"})
	r := s.change(coordinator, "withdraw", s.key(), form{"entryId": gone, "because": "it was shown after all"}, "id")
	assert.Equal(t, []string{"CONFLICT entryId"}, r.problems(), r.body)
	assert.Contains(t, r.body, "A withdrawn certificate stays withdrawn")
	r = s.change(coordinator, "withdraw", s.key(), form{"entryId": number, "because": "once more"}, "id")
	assert.Len(t, r.problems(), 1, r.body)
	r = s.ask(coordinator, replace, form{"key": s.key(), "n": number, "b": "a new one"})
	assert.Equal(t, []string{"CONFLICT number"}, r.problems(), r.body)
	assert.Contains(t, r.body, "that is final")
	ended, _ := s.certificate(groundhand.HR, number, fate, nil)
	assert.Equal(t, "WITHDRAWN", ended.State)
	assert.Empty(t, s.log.String())
}

// A reason may be personal. HR hands certificates out and is not told why one ended, by no path.
func TestWhyACertificateEndedIsForThoseWhoReadTheEntries(t *testing.T) {
	const why = "she was in hospital, invented"
	s := newScene(t)
	number := s.issue(s.make("assess", assessmentForm(s.id)), nil)
	r := s.ask(s.token[groundhand.Coordinator], `mutation($key: String!, $n: ID!, $b: String!) { replaceCertificate(key: $key, number: $n, because: $b) { id } }`, form{"key": s.key(), "n": number, "b": why})
	require.Empty(t, r.Errors, r.body)
	query := `{ certificates { edges { node { id state because recorded { because } } } } certificate(id: "2025-0001") { state because } new: certificate(id: "2025-0002") { recorded { because } } }`
	r = s.ask(s.token[groundhand.HR], query, nil)
	assert.Equal(t, []string{"FORBIDDEN", "FORBIDDEN", "FORBIDDEN"}, r.codes(), r.body)
	assert.NotContains(t, r.body, "hospital")
	assert.Contains(t, r.body, `"state":"REPLACED"`, "the rest is answered")
	_, whole := s.download(groundhand.HR, "/certificates.zip")
	for name, text := range unzip(t, whole) {
		assert.NotContains(t, text, "hospital", name)
	}
	for _, who := range []groundhand.Capacity{groundhand.Coordinator, groundhand.Auditor} {
		r = s.ask(s.token[who], query, nil)
		assert.Empty(t, r.Errors, r.body)
		assert.Equal(t, 4, strings.Count(r.body, "hospital"), r.body)
	}
}

// many is a company with five certificates: Maren and Keahi under the rules of their own employer, Keahi and Linh under a client's, and a replaced one of Linh.
func many(t *testing.T) *scene {
	s := newScene(t)
	s.make("recordDrill", form{"runs": []form{with(runForm(s.id["Linh"], s.id["Dov"]), form{"on": "2025-04-02"})}})
	s.issue(s.partOf(t, "Maren"), nil)
	s.issue(s.partOf(t, "Keahi"), nil)
	s.issue(s.partOf(t, "Keahi"), "R-C")
	linh := s.issue(s.partOf(t, "Linh"), "R-C")
	r := s.ask(s.token[groundhand.Coordinator], `mutation($key: String!, $n: ID!) { replaceCertificate(key: $key, number: $n, because: "misspelt") { id } }`, form{"key": s.key(), "n": linh})
	require.Empty(t, r.Errors, r.body)
	return s
}

func unzip(t *testing.T, data []byte) map[string]string {
	t.Helper()
	files, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	out := map[string]string{}
	for _, f := range files.File {
		r, err := f.Open()
		require.NoError(t, err)
		text, err := io.ReadAll(r)
		require.NoError(t, err)
		out[f.Name] = string(text)
	}
	return out
}

// numbersIn are the certificates that the list in a ZIP names, and those that its note says are left out.
func numbersIn(t *testing.T, data []byte) (in []string, note string) {
	files := unzip(t, data)
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(files["manifest.csv"], "\ufeff"))).ReadAll()
	require.NoError(t, err)
	for _, row := range rows[1:] {
		in = append(in, row[0])
	}
	return in, files["README.txt"]
}

func (s *scene) listed(filter, states string) []string {
	s.t.Helper()
	r := s.ask(s.token[groundhand.HR], fmt.Sprintf(`{ certificates(filter: {%s}%s) { edges { node { id } } } }`, filter, states), nil)
	require.Empty(s.t, r.Errors, r.body)
	var page struct {
		Edges []struct{ Node struct{ ID string } }
	}
	require.NoError(s.t, json.Unmarshal(r.Data["certificates"], &page))
	var out []string
	for _, e := range page.Edges {
		out = append(out, e.Node.ID)
	}
	return out
}

// One filter: what is listed is what the ZIP holds, together with what it names as replaced.
func TestTheListAndTheFileMeanTheSameByAFilter(t *testing.T) {
	s := many(t)
	keahi, linh := s.id["Keahi"], s.id["Linh"]
	for _, c := range []struct {
		filter, parameters string
		want               []string
	}{
		{``, "", []string{"2025-0001", "2025-0002", "2025-0003", "2025-0004", "2025-0005"}},
		{`shownFrom: "2025-03-01", shownThrough: "2025-03-31"`, "?month=2025-03", []string{"2025-0001", "2025-0002", "2025-0003", "2025-0004", "2025-0005"}},
		{`shownFrom: "2025-04-01"`, "?from=2025-04-01", nil},
		{`crew: "V1"`, "?crew=V1", []string{"2025-0001", "2025-0002", "2025-0003"}},
		{`employer: "Halverra Lines"`, "?employer=Halverra+Lines", []string{"2025-0001", "2025-0002", "2025-0003", "2025-0004", "2025-0005"}},
		{`client: "client C, Dunmarrow Ports"`, "?client=client%20C,+Dunmarrow+Ports", []string{"2025-0003", "2025-0004", "2025-0005"}},
		{`client: "R-C"`, "?client=R-C", []string{"2025-0003", "2025-0004", "2025-0005"}},
		{`ruleSet: "R2"`, "?ruleSet=R2", []string{"2025-0001", "2025-0002"}},
		{fmt.Sprintf(`people: [%q, %q], client: "R-C"`, keahi, linh), "?client=R-C&person=" + keahi + "&person=" + linh, []string{"2025-0003", "2025-0004", "2025-0005"}},
		{fmt.Sprintf(`people: [%q], crew: "V1", numbers: ["2025-0003", "2025-0001"]`, keahi), "?crew=V1&number=2025-0003&number=2025-0001&person=" + keahi, []string{"2025-0003"}},
	} {
		t.Run(c.parameters, func(t *testing.T) {
			got := s.listed(c.filter, "")
			assert.Equal(t, c.want, got)
			res, whole := s.download(groundhand.HR, "/certificates.zip"+c.parameters)
			require.Equal(t, http.StatusOK, res.StatusCode, string(whole))
			in, note := numbersIn(t, whole)
			standing := slices.DeleteFunc(slices.Clone(got), func(n string) bool { return n == "2025-0004" })
			assert.ElementsMatch(t, standing, in)
			assert.Equal(t, slices.Contains(c.want, "2025-0004"), strings.Contains(note, "2025-0004"), note)
		})
	}
	assert.Equal(t, []string{"2025-0004"}, s.listed(``, `, states: [REPLACED, WITHDRAWN]`))
	assert.Equal(t, []string{"2025-0003", "2025-0005"}, s.listed(`client: "R-C"`, `, states: [VALID]`))
	assert.Empty(t, s.listed(``, `, states: [NO_LONGER_CURRENT]`))
	assert.Len(t, s.listed(``, `, states: []`), 5)
	s.clock.Advance(time.Hour)
	s.make("suspend", form{"on": "2025-06-11", "workerId": keahi, "method": "PAIR_KIT", "cause": "a step left out"})
	assert.Equal(t, []string{"2025-0002", "2025-0003"}, s.listed(``, `, states: [NO_LONGER_CURRENT]`))

	all := fmt.Sprintf(`crew: "V1", client: "R-C", employer: "Halverra Lines", people: [%q]`, keahi)
	assert.Empty(t, s.listed(all, `, states: [VALID]`))
	assert.Equal(t, []string{"2025-0003"}, s.listed(all, `, states: [VALID], asKnownAt: "2025-06-11T19:50:00+01:00"`), "the suspension was not known yet")
	assert.Equal(t, []string{"2025-0001", "2025-0005"}, s.listed(``, `, states: [VALID]`))
	s.clock.Advance(400 * 24 * time.Hour)
	assert.Empty(t, s.listed(``, `, states: [VALID]`), "all are over")
	assert.Equal(t, []string{"2025-0001", "2025-0005"}, s.listed(``, `, states: [VALID], asKnownAt: "2025-06-12T00:00:00+01:00"`), "the state of that day")
}

// "Certificates for everybody who passed in March and worked for client C, with any since withdrawn" is one question.
func TestQuestion19IsOneQuestion(t *testing.T) {
	s := many(t)
	s.make("withdraw", form{"entryId": s.partOf(t, "Keahi"), "because": "it was another's run"}) // its certificates go with it
	r := s.ask(s.token[groundhand.HR], `{ certificates(filter: {shownFrom: "2025-03-01", shownThrough: "2025-03-31", client: "client C, Dunmarrow Ports"}) {
  edges { node { id worker { number } state since replacedBy } } pageInfo { hasNextPage } } }`, nil)
	require.Empty(t, r.Errors, r.body)
	assert.JSONEq(t, `{"edges": [
  {"node": {"id": "2025-0003", "worker": {"number": "1005"}, "state": "WITHDRAWN", "since": "2025-06-11", "replacedBy": ""}},
  {"node": {"id": "2025-0004", "worker": {"number": "1006"}, "state": "REPLACED", "since": "2025-06-11", "replacedBy": "2025-0005"}},
  {"node": {"id": "2025-0005", "worker": {"number": "1006"}, "state": "VALID", "since": null, "replacedBy": ""}}], "pageInfo": {"hasNextPage": false}}`, string(r.Data["certificates"]))
}

func TestCertificatesAreLeafedThrough(t *testing.T) {
	s := many(t)
	for _, arguments := range []string{``, `filter: {shownFrom: "2025-01-01"}, `, `states: [VALID, NO_LONGER_CURRENT, REPLACED, WITHDRAWN], `, `filter: {client: "R-C"}, states: [VALID, REPLACED], `} {
		var seen []string
		after, more := "", true
		for rounds := 0; more; rounds++ {
			require.Less(t, rounds, 5)
			r := s.ask(s.token[groundhand.Auditor], fmt.Sprintf(`{ certificates(%sfirst: 2, after: %q) { edges { cursor node { id } } pageInfo { hasNextPage endCursor } } }`, arguments, after), nil)
			require.Empty(t, r.Errors, r.body)
			var page struct {
				Edges    []struct{ Cursor string }
				PageInfo struct {
					HasNextPage bool
					EndCursor   string
				}
			}
			require.NoError(t, json.Unmarshal(r.Data["certificates"], &page))
			require.LessOrEqual(t, len(page.Edges), 2)
			for _, e := range page.Edges {
				seen = append(seen, e.Cursor)
			}
			after, more = page.PageInfo.EndCursor, page.PageInfo.HasNextPage
		}
		want := []string{"2025-0001", "2025-0002", "2025-0003", "2025-0004", "2025-0005"}
		if strings.Contains(arguments, "R-C") {
			want = want[2:]
		}
		assert.Equal(t, want, seen, arguments)
	}
}

func TestMoreCertificatesCostNoMoreStatements(t *testing.T) {
	s := newScene(t)
	s.root.Wait = 100 * time.Millisecond
	for _, name := range []string{"Maren", "Gideon"} {
		s.issue(s.partOf(t, name), nil)
	}
	count := func() []uint64 {
		var out []uint64
		for _, arguments := range []string{``, `(filter: {crew: "V1"})`, `(filter: {client: "the employer"}, states: [VALID, REPLACED])`} {
			before := s.store.Statements()
			s.get(groundhand.Auditor, `{ certificates`+arguments+` { edges { node { worker { number } because `+fate+` } } } }`)
			out = append(out, s.store.Statements()-before)
		}
		return out
	}
	few := count()
	for _, name := range []string{"Tomasz", "Keahi", "Linh", "Dov"} {
		s.issue(s.partOf(t, name), nil)
	}
	assert.Equal(t, few, count())
}

func TestAFilterThatCannotBeIsRefused(t *testing.T) {
	s := many(t)
	for filter, want := range map[string][]string{
		`shownFrom: "2025-04-01", shownThrough: "2025-03-01"`:                        {"INVALID filter.shownThrough"},
		`numbers: ["2025-0001", "2025-9999", "'"]`:                                   {"NOT_FOUND filter.numbers[1]", "NOT_FOUND filter.numbers[2]"},
		`crew: "V9", client: "nobody", ruleSet: "R-Q", employer: "x", people: ["z"]`: {"NOT_FOUND filter.client", "NOT_FOUND filter.people[0]", "NOT_FOUND filter.crew", "NOT_FOUND filter.ruleSet", "NOT_FOUND filter.employer"},
	} {
		r := s.ask(s.token[groundhand.HR], fmt.Sprintf(`{ certificates(filter: {%s}) { edges { cursor } } }`, filter), nil)
		assert.ElementsMatch(t, want, r.problems(), r.body)
	}
	for query, want := range map[string][]string{
		`{ certificates(first: 0) { edges { cursor } } }`:                                          {"INVALID first"},
		`{ certificates(asKnownAt: "1960-01-01T00:00:00Z") { edges { cursor } } }`:                 {"INVALID asKnownAt"},
		`{ certificate(id: "2025-0001", asKnownAt: "1970-01-01T00:00:00Z") { id } }`:               {"INVALID asKnownAt"},
		`{ certificates(filter: {shownFrom: "31/3/2025"}) { edges { cursor } } }`:                  {"INVALID filter.shownFrom"},
		`{ certificate(id: "2025-0001", asKnownAt: "2025-06-11T17:00:00Z") { id } }`:               {"NOT_FOUND"},
		`{ certificates(filter: {crew: "V1"}, after: "\u0000' --") { edges { node { state } } } }`: {},
	} {
		r := s.ask(s.token[groundhand.HR], query, nil)
		assert.Equal(t, want, r.problems(), query+r.body)
	}
	r := s.ask(s.token[groundhand.HR], `query($n: [ID!]) { certificates(filter: {numbers: $n}) { edges { cursor } } }`, form{"n": make([]string, 10_001)})
	assert.Equal(t, []string{"TOO_LARGE filter.numbers"}, r.problems(), "%.300s", r.body)
	assert.Empty(t, s.log.String())
}

func TestTheSigningKeysAreShownWithoutTheirPrivatePart(t *testing.T) {
	s := many(t)
	const query = `{ signingKeys { id issuerId state madeAt changedAt because certificates held } }`
	r := s.ask(s.token[groundhand.Auditor], query, nil)
	require.Empty(t, r.Errors, r.body)
	var keys []struct {
		ID, IssuerID, State, MadeAt, Because string
		Certificates                         int
		Held                                 bool
	}
	require.NoError(t, json.Unmarshal(r.Data["signingKeys"], &keys))
	require.Len(t, keys, 1)
	assert.Equal(t, "did:web:halverra.example ACTIVE 5 true", fmt.Sprint(keys[0].IssuerID, " ", keys[0].State, " ", keys[0].Certificates, " ", keys[0].Held))
	_, err := credential.ParseMultikey(keys[0].ID)
	assert.NoError(t, err)
	one, _ := s.certificate(groundhand.HR, "2025-0001", fate, nil)
	assert.Equal(t, keys[0].ID, one.KeyID)

	thief, err := s.root.Issuer.KeyStolen(t.Context(), groundhand.Account{ID: "x", Capacity: groundhand.Coordinator}, keys[0].ID, "a copy was found")
	require.NoError(t, err)
	r = s.ask(s.token[groundhand.Coordinator], query, nil)
	require.NoError(t, json.Unmarshal(r.Data["signingKeys"], &keys))
	require.Len(t, keys, 2)
	assert.Equal(t, "COMPROMISED a copy was found 5 false", fmt.Sprint(keys[0].State, " ", keys[0].Because, " ", keys[0].Certificates, " ", keys[0].Held))
	assert.Equal(t, thief.NewKey+" ACTIVE 4", fmt.Sprint(keys[1].ID, " ", keys[1].State, " ", keys[1].Certificates))
	for _, by := range groundhand.Capacities {
		if by != groundhand.Auditor && by != groundhand.Coordinator {
			assert.Equal(t, []string{"FORBIDDEN"}, s.ask(s.token[by], query, nil).codes(), by)
		}
	}
}
