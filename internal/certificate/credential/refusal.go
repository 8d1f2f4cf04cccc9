package credential

import (
	"fmt"
	"strings"
)

// RefusalCode says why a signed file was not accepted. The set is closed.
type RefusalCode string

// The codes of Read, ReadStatusList and, the last, of TakenBack.
const (
	NotACredential RefusalCode = "NOT_A_CREDENTIAL" // not strict JSON, too large, or with text that other programs would read otherwise
	OtherKind      RefusalCode = "OTHER_KIND"       // perhaps a good credential, but not of the one shape that is issued here
	NotSigned      RefusalCode = "NOT_SIGNED"       // without a proof
	UnknownIssuer  RefusalCode = "UNKNOWN_ISSUER"   // nobody knows the document of its issuer
	UnknownKey     RefusalCode = "UNKNOWN_KEY"      // signed with a key that the issuer does not have
	Changed        RefusalCode = "CHANGED"          // the signature does not fit what the file says
	RunOut         RefusalCode = "RUN_OUT"          // a status list that is too old to tell anything
)

// Refusal is why a signed file was not accepted: data for a page, and a whole sentence.
type Refusal struct {
	Code RefusalCode
	Text string
}

func (r *Refusal) Error() string { return r.Text }

// longest is how many bytes a refusal has at most: it quotes a file that a stranger sent.
const longest = 400

func refuse(code RefusalCode, format string, args ...any) *Refusal {
	text := fmt.Sprintf(format, args...)
	if len(text) > longest {
		text = strings.ToValidUTF8(text[:longest], "") + "…"
	}
	return &Refusal{code, text}
}
