package readiness

import (
	"fmt"
	"slices"
)

// Verdict is the class of a choice or of a crew. Verdicts are ordered, the worst first, so that min is "the worst of".
type Verdict uint8

// The four verdicts. The zero Verdict is NotReady: what was never judged is not ready.
const (
	NotReady Verdict = iota
	CannotTell
	Conditional
	Ready
)

var verdictNames = []string{"NOT_READY", "CANNOT_TELL", "CONDITIONAL", "READY"}

// String is the verdict's name in the files, such as "CANNOT_TELL".
func (v Verdict) String() string { return verdictNames[v] }

// MarshalText writes the name.
func (v Verdict) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// UnmarshalText reads the name.
func (v *Verdict) UnmarshalText(b []byte) error {
	i := slices.Index(verdictNames, string(b))
	if i < 0 {
		return fmt.Errorf("no verdict is called %q", b)
	}
	*v = Verdict(i)
	return nil
}

// YesNo is an answer that may be missing. The zero YesNo is Unknown.
type YesNo uint8

// The three answers.
const (
	Unknown YesNo = iota
	No
	Yes
)

var yesNoNames = []string{"unknown", "no", "yes"}

// String is "yes", "no" or "unknown".
func (y YesNo) String() string { return yesNoNames[y] }

// MarshalText writes the word.
func (y YesNo) MarshalText() ([]byte, error) { return []byte(y.String()), nil }
