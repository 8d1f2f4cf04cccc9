package certificate

import (
	"archive/zip"
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
)

// packedFiles is a pack taken apart.
type packedFiles struct {
	raw   []byte
	done  PackedUp
	files map[string][]byte
	names []string
}

func (o *office) pack(q PackQuestion) packedFiles {
	o.Helper()
	var raw bytes.Buffer
	done, err := o.issuer.Pack(o.ctx, hr, q, &raw, nil)
	require.NoError(o, err)
	out := packedFiles{raw: raw.Bytes(), done: done, files: map[string][]byte{}}
	archive, err := zip.NewReader(bytes.NewReader(out.raw), int64(len(out.raw)))
	require.NoError(o, err)
	for _, f := range archive.File {
		out.files[f.Name], out.names = contentOf(o, f), append(out.names, f.Name)
	}
	return out
}

// rows are the rows of the list for spreadsheets.
func (p packedFiles) rows() []string {
	text := strings.TrimPrefix(string(p.files["people.csv"]), "\ufeff")
	return strings.Split(strings.TrimSpace(text), "\r\n")[1:]
}

// crowd is people of each kind: good with a certificate, good without one, over, never, suspended, away too long, accepted on paper.
func crowd(t *testing.T) (*office, PackQuestion) {
	o := newOffice(t)
	for _, who := range []groundhand.WorkerID{"over", "never", "susp", "long", "pape"} {
		o.worker(who, map[groundhand.WorkerID]string{"over": "Olive Over", "never": "Nadia Never", "susp": "Sven Susp", "long": "Lena Long", "pape": "Pete Paper"}[who])
	}
	with := o.run("lukasz", groundhand.Second, "2025-02-03")
	o.run("serban", groundhand.Second, "2025-03-03")
	o.run("over", groundhand.Second, "2024-01-12")
	o.run("susp", groundhand.Second, "2025-02-03")
	o.run("long", groundhand.Second, "2024-09-02")
	o.issue(with.ID, "R-C")
	o.issue(o.run("susp", groundhand.Lead, "2025-02-10").ID, "R-C")
	add(o, groundhand.Suspension{ID: o.id(), Recorded: o.told("2025-05-05"), WorkerID: "susp", Method: groundhand.PairKit, Cause: "a cause that stays inside"})
	sick := groundhand.Unavailability{ID: o.id(), Recorded: o.told("2024-09-20"), WorkerID: "long", Kind: groundhand.Sick,
		FromAt: groundhand.InstantOf(day("2024-09-20").Start(o.zone)), ToAt: groundhand.InstantOf(day("2025-05-20").Start(o.zone))}
	add(o, sick)
	add(o, groundhand.UnavailabilityReason{ID: o.id(), Recorded: o.told("2024-09-20"), UnavailabilityID: sick.ID, Reason: "a reason that stays inside"})
	add(o, groundhand.Provisional{ID: o.id(), Recorded: o.told("2025-06-02"), WorkerID: "pape", Method: groundhand.PairKit, Role: groundhand.Second, FamilyID: "F1",
		FromOn: day("2025-06-02"), ToOn: day("2025-06-30"), Basis: "copy seen"})
	return o, PackQuestion{People: []groundhand.WorkerID{"lukasz", "serban", "over", "never", "susp", "long", "pape"}, RuleSet: "R2", On: day("2025-06-11")}
}

func TestAPackForAClient(t *testing.T) {
	o, q := crowd(t)
	q.RuleSet = "R-C"
	o.firstAid("lukasz", "2025-05-01")
	p := o.pack(q)
	assert.Equal(t, PackedUp{People: 7, Good: 1, Certificates: 1, Missing: []groundhand.WorkerID{"serban", "long"}}, p.done)
	assert.Equal(t, []string{"export/README.txt", "export/issuer/did.json", "export/status/status-1.json", "README.txt", "people.csv", "people.pdf", "export/certificates/2025-0001.pdf",
		"export/credentials/2025-0001.json", "export/manifest.csv"}, p.names)
	const pair, aid, under = `"Bucket rescue, two on the ground, block-and-tackle kit",second rescuer,"F1, articulating, lever",`, "First aid and CPR,,,", `,"R-C, Dunmarrow Ports: a year without extensions",2025-06-11,2025-06-11`
	assert.Equal(t, []string{
		"Łukasz Dąbrowa-Żeleński,good," + pair + "good,2026-02-02,2025-0001,valid," + under,
		"Łukasz Dąbrowa-Żeleński,good," + aid + "good,2026-04-30,,,no certificate issued" + under,
		"Șerban Őrségi Đorđević-Ş,not good," + pair + "good,2026-03-02,,,no certificate issued" + under,
		"Șerban Őrségi Đorđević-Ş,not good," + aid + "not good,,,,no practice on record under these rules" + under,
		"Olive Over,not good," + pair + "not good,,,,last good day was Sat 11 Jan 2025" + under,
		"Olive Over,not good," + aid + "not good,,,,no practice on record under these rules" + under,
		"Nadia Never,not good," + pair + "not good,,,,no practice on record under these rules" + under,
		"Nadia Never,not good," + aid + "not good,,,,no practice on record under these rules" + under,
		"Sven Susp,not good," + pair + "not good,,,,not current at present: ask the employer" + under,
		"Sven Susp,not good," + aid + "not good,,,,no practice on record under these rules" + under,
		"Lena Long,not good," + pair + "good,2025-09-01,,,no certificate issued" + under,
		"Lena Long,not good," + aid + "not good,,,,no practice on record under these rules" + under,
		"Pete Paper,not good," + pair + "not good,,,,no practice on record under these rules" + under,
		"Pete Paper,not good," + aid + "not good,,,,no practice on record under these rules" + under,
	}, p.rows())
	readme := string(p.files["README.txt"])
	assert.Contains(t, readme, "NAMED PEOPLE UNDER A RULE SET")
	assert.Contains(t, readme, `People: 7. Under the rules "R-C, Dunmarrow Ports: a year without extensions" on Wed 11 Jun 2025.`)
	assert.Contains(t, readme, "Certificates: 1.")
	assert.Contains(t, readme, "It does not say that a law is met.")
	assert.Contains(t, string(p.files["export/README.txt"]), "HOW TO CHECK ONE CERTIFICATE")
}

// Under rules that know suspensions, absences and acceptance on paper these three look alike from outside.
func TestAPackTellsNothingThatStaysInside(t *testing.T) {
	o, q := crowd(t)
	p := o.pack(q)
	alike := map[string]string{}
	for _, row := range p.rows() {
		if name, rest, _ := strings.Cut(row, ","); strings.Contains(rest, "Bucket rescue") {
			alike[name] = rest
		}
	}
	assert.Contains(t, alike["Sven Susp"], "not current at present: ask the employer")
	assert.Equal(t, alike["Sven Susp"], alike["Lena Long"], "suspended and away too long")
	assert.Equal(t, alike["Sven Susp"], alike["Pete Paper"], "and accepted on paper")
	inside, err := o.issuer.roll.UnderRules(o.ctx, rollcall.UnderRulesQuestion{People: []groundhand.WorkerID{"susp", "long", "pape"}, RuleSet: "R2", On: day("2025-06-11")})
	require.NoError(t, err)
	assert.Equal(t, []rollcall.NotGood{rollcall.BecauseSuspended, rollcall.BecauseAbsence, rollcall.BecauseOnPaper}, []rollcall.NotGood{inside[0].Because, inside[1].Because, inside[2].Because},
		"the house itself tells them apart")
	for name, content := range p.files {
		text := strings.ToLower(string(content))
		if name == "people.pdf" {
			text = strings.ToLower(pdfText(t, content))
			assert.Contains(t, text, "sven susp")
		}
		for _, word := range []string{"suspen", "absence rule", "sick", "health", "restrict", "stays inside", "on paper for", "extension only"} {
			assert.NotContains(t, text, word, name)
		}
	}
}

// Each reason there is has words that may leave the house, and nothing but a day that is over is told with a day.
func TestEveryReasonHasWordsForOutside(t *testing.T) {
	for _, why := range rollcall.NotGoodReasons {
		words := outsideReason(why, day("2025-01-11"))
		assert.Contains(t, []string{"no practice on record under these rules", "not current at present: ask the employer", "last good day was Sat 11 Jan 2025"}, words, why)
	}
	for _, why := range []rollcall.NotGood{rollcall.BecauseSuspended, rollcall.BecauseAbsence, rollcall.BecauseGrade, rollcall.BecauseOnPaper} {
		assert.Equal(t, "not current at present: ask the employer", outsideReason(why, day("2025-01-11")), why)
	}
	assert.Empty(t, outsideReason("", day("2025-01-11")))
}

func pdfText(t *testing.T, pdf []byte) string {
	t.Helper()
	program, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("pdftotext is not installed")
	}
	cmd := exec.Command(program, "-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	require.NoError(t, err)
	return strings.Join(strings.Fields(string(out)), " ")
}

func TestTheSamePackIsTheSameBytes(t *testing.T) {
	o, q := crowd(t)
	q.RuleSet = "R-C"
	first := o.pack(q)
	o.clock.Advance(time.Hour)
	assert.True(t, bytes.Equal(first.raw, o.pack(q).raw), "later on the same day")
	_, err := o.issuer.IssueMissing(o.ctx, coordinator, "k1", q)
	require.NoError(t, err)
	second := o.pack(q)
	assert.Equal(t, 3, second.done.Certificates, "what was missing is in it now")
	assert.Empty(t, second.done.Missing)
	assert.Contains(t, second.rows()[2], ",good,2026-03-02,2025-0003,valid,")
}

// A certificate that is not valid today is named with its state, and its file is not in the pack.
func TestACertificateThatIsNotValidStaysOut(t *testing.T) {
	o, q := crowd(t)
	q.RuleSet, q.On = "R-C", day("2025-05-01") // before the suspension
	p := o.pack(q)
	assert.Contains(t, p.rows()[8], "Sven Susp,not good")
	assert.Contains(t, p.rows()[8], "good,2026-02-09,2025-0002,no longer current; its file is not in this pack,")
	assert.NotContains(t, p.names, "export/certificates/2025-0002.pdf")
	assert.Equal(t, 1, p.done.Certificates)
}

// A certificate from before they were signed is named, and that its file cannot be given out.
func TestAnUnsignedCertificateIsNamedWithoutItsFile(t *testing.T) {
	o := newOffice(t)
	part := o.run("lukasz", groundhand.Second, "2025-02-03")
	add(o, groundhand.Certificate{ID: "2025-0900", Recorded: o.told("2025-02-04"), WorkerID: "lukasz", PersonName: "Łukasz", Method: groundhand.PairKit, Role: groundhand.Second,
		FamilyID: "F1", EvidenceID: part.ID, EvidenceKind: groundhand.PracticeRun, ShownOn: day("2025-02-03"), LastGoodDay: day("2026-02-02"), RuleSetID: "R-C"})
	p := o.pack(packOf("lukasz"))
	assert.Contains(t, p.rows()[0], ",2025-0900,valid; its file is not in this pack,")
	assert.Zero(t, p.done.Certificates)
	assert.Empty(t, p.done.Missing)
	assert.Contains(t, string(p.files["export/README.txt"]), "Issued before certificates were signed")
}

func TestStatementsOfAPackDoNotGrowWithThePeople(t *testing.T) {
	o := newOffice(t)
	q := packOf()
	for i := range 12 {
		who := groundhand.WorkerID(fmt.Sprintf("w%02d", i))
		o.worker(who, fmt.Sprintf("Person Number-%02d", i))
		o.run(who, groundhand.Second, "2025-02-03")
		q.People = append(q.People, who)
	}
	_, err := o.issuer.IssueMissing(o.ctx, coordinator, "k1", q)
	require.NoError(t, err)
	statements := func(people []groundhand.WorkerID) uint64 {
		before := o.store.Statements()
		assert.Equal(t, len(people), o.pack(packOf(people...)).done.Certificates)
		return o.store.Statements() - before
	}
	assert.Equal(t, statements(q.People[:3]), statements(q.People))
}

func TestAPackIsRefusedWhole(t *testing.T) {
	o, q := crowd(t)
	o.worker("han", "李娜")
	refused := func(by groundhand.Account, q PackQuestion) []string {
		var raw bytes.Buffer
		done, err := o.issuer.Pack(o.ctx, by, q, &raw, nil)
		assert.Zero(t, raw.Len(), "not a byte")
		assert.Zero(t, done)
		fields := []string{}
		for _, e := range groundhand.Refusals(err) {
			fields = append(fields, strings.TrimSpace(string(e.Code)+" "+e.Field))
		}
		return fields
	}
	assert.Equal(t, []string{"FORBIDDEN"}, refused(dispatcher, q))
	assert.Equal(t, []string{"UNAUTHENTICATED"}, refused(groundhand.Account{}, q))
	assert.Equal(t, []string{"NOT_FOUND ruleSet", "NOT_FOUND people[1]", "INVALID people[2]"},
		refused(hr, PackQuestion{People: []groundhand.WorkerID{"lukasz", "nobody", "lukasz"}, RuleSet: "R-Q", On: day("2025-06-11")}))
	assert.Equal(t, []string{"INVALID people[1].name"}, refused(hr, PackQuestion{People: []groundhand.WorkerID{"lukasz", "han"}, RuleSet: "R-C", On: day("2025-06-11")}))
}

// A list without a single certificate is a pack too.
func TestAPackWithoutACertificate(t *testing.T) {
	o, _ := crowd(t)
	p := o.pack(packOf("never"))
	assert.Equal(t, PackedUp{People: 1}, p.done)
	assert.Equal(t, []string{"export/README.txt", "export/issuer/did.json", "README.txt", "people.csv", "people.pdf", "export/manifest.csv"}, p.names)
}

// An independent verifier finds nothing wrong with a pack, by the command that its own README names.
func TestAnIndependentVerifierAcceptsThePack(t *testing.T) {
	home := os.Getenv("GROUNDHAND_VERIFIER")
	if home == "" {
		t.Skip("GROUNDHAND_VERIFIER names no folder with the verifier")
	}
	o, q := crowd(t)
	q.RuleSet = "R-C"
	_, err := o.issuer.IssueMissing(o.ctx, coordinator, "k1", q)
	require.NoError(t, err)
	p, dir := o.pack(q), t.TempDir()
	for name, content := range p.files {
		require.NoError(t, os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o700))
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), content, 0o600))
	}
	var args []string
	for line := range strings.Lines(string(p.files["export/README.txt"])) {
		if rest, is := strings.CutPrefix(strings.TrimSpace(line), "node PATH/verify.mjs "); is {
			args = strings.Fields(rest)
		}
	}
	require.NotEmpty(t, args)
	cmd := exec.Command("node", append([]string{filepath.Join(home, "verify.mjs")}, args...)...)
	cmd.Dir = filepath.Join(dir, "export")
	out, err := cmd.CombinedOutput()
	assert.NoError(t, err, fmt.Sprint(string(out), args))
}
