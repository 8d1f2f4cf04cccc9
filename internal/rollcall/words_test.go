package rollcall

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// constants reads the constants of a type out of the text of a file, so that one that is added there is missed here.
func constants(t *testing.T, file, typ string) []string {
	t.Helper()
	parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
	require.NoError(t, err)
	var out []string
	ast.Inspect(parsed, func(n ast.Node) bool {
		spec, is := n.(*ast.ValueSpec)
		if !is {
			return true
		}
		if of, named := spec.Type.(*ast.Ident); named && of.Name == typ {
			for _, v := range spec.Values {
				text, err := strconv.Unquote(v.(*ast.BasicLit).Value)
				require.NoError(t, err)
				if text != "" {
					out = append(out, text)
				}
			}
		}
		return true
	})
	require.NotEmpty(t, out, typ)
	return out
}

func TestEveryCodeHasWords(t *testing.T) {
	for _, c := range []struct {
		file, typ string
		known     func(code string) bool
	}{
		{"../readiness/code.go", "Code", func(c string) bool { return codeWords[readiness.Code(c)] != "" }},
		{"../readiness/code.go", "Because", func(c string) bool { return becauseWords[readiness.Because(c)] != "" }},
		{"../readiness/code.go", "Of", func(c string) bool { return ofWords[readiness.Of(c)] != "" }},
		{"../readiness/fix.go", "RefusedReason", func(c string) bool { return refusedWords[readiness.RefusedReason(c)] != "" }},
		{"gearline.go", "GearLineName", func(c string) bool { return lineWords[GearLineName(c)] != "" }},
		{"look.go", "Look", func(c string) bool { return lookWords[Look(c)] != "" }},
		{"../groundhand/drill.go", "Method", func(c string) bool { return methodWords[groundhand.Method(c)] != "" }},
	} {
		for _, code := range constants(t, c.file, c.typ) {
			assert.True(t, c.known(code), "%s %s has no words", c.typ, code)
		}
	}
	for rung := readiness.RungAloft; rung <= readiness.RungDoNotSend; rung++ {
		assert.NotEmpty(t, RungWords(rung))
	}
}

func TestWordsNameThePeopleTheySpeakOf(t *testing.T) {
	name := func(id string) string { return "<" + id + ">" }
	two, one := 2, 1
	for want, got := range map[string]string{
		"held back from rescue duty: <w1>; <w2>": FindingWords(readiness.Finding{Code: readiness.NotForRescueDuty, Severity: readiness.SeverityNote, Things: []string{"w1", "w2"}}, name),
		"fewer than two trained rescuers (count 1, least 2)": FindingWords(readiness.Finding{Code: readiness.CrewBelowTwo, Severity: readiness.SeverityBlock,
			Values: readiness.Values{"least": &two, "count": &one}}, name),
		"perhaps the kit is not on this device: kit, two on the ground": FindingWords(readiness.Finding{Code: readiness.KitNotOnDevice, Severity: readiness.SeverityUnknown, Things: []string{"PAIR_KIT"}}, name),
		"go and look, it decides: does <w1> work the lower controls; does the site allow from a pole": FindingWords(readiness.Finding{Code: readiness.UnknownDecides, Severity: readiness.SeverityUnknown,
			Things: []string{"person.w1.operates_lower", "job.methods.POLE_TOP"}}, name),
		"an extension is used: <w1>":                    ConditionWords(readiness.Condition{Code: "EXTENSION_IN_USE", Things: []string{"w1"}}, name),
		"in their first month: <w1>":                    ConditionWords(readiness.Condition{Code: "IN_THEIR_FIRST_MONTH", Things: []string{"w1"}}, name),
		"somebody not counted here must take a duty: t": ConditionWords(readiness.Condition{Code: readiness.DutyUnheld, Things: []string{"t"}}, name),
		"ends: first aid in date, <w1>":                 EdgeWords(readiness.Change{Edge: readiness.EdgeEnd, Of: readiness.OfFirstAid, ID: "w1"}, name),
		"<w1> and <w2> aloft, and nobody else":          CoverAnswer{}.ChangeWords(readiness.FixChange{Do: readiness.DoAloft, People: []string{"w1", "w2"}}, name),
		"<w1> joins":                                    CoverAnswer{}.ChangeWords(readiness.FixChange{Do: readiness.DoPerson, ID: "w1"}, name),
		"put kit K29 on device A05":                     UnlockWords(Unlock{Do: readiness.DoKit, KitID: "K29", DeviceID: "A05"}, name),
		"<w1> joins crew V2, lent by R":                 UnlockWords(Unlock{Do: readiness.DoPerson, WorkerID: "w1", CrewID: "V2", LenderID: "R"}, name),
		"drill kit, two on the ground on control family F1, watched by <w3>: <w1> and <w2>": UnlockWords(Unlock{Do: readiness.DoDrill, Method: groundhand.PairKit, FamilyID: "F1",
			AssessorID: "w3", People: []groundhand.WorkerID{"w1", "w2"}}, name),
	} {
		assert.Equal(t, want, got)
	}
}
