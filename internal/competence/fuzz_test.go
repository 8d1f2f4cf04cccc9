package competence

import (
	"os"
	"path/filepath"
	"testing"

	"groundhand/internal/groundhand"
)

// Whatever is handed in, it is refused with one fault or answered in full, and what was read survives being written.
func FuzzDecode(f *testing.F) {
	for _, pattern := range []string{"testdata/*.facts.json", "testdata/faulty/*.facts.json"} {
		names, err := filepath.Glob(pattern)
		if err != nil || len(names) == 0 {
			f.Fatal("no files to start from")
		}
		for _, name := range names {
			in, err := os.ReadFile(name)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(in)
		}
	}
	f.Add(minimal(aRun+`, "happened_on": "9999-12-31", "replaces": null}`, `{"id": "Q", "person": "W", "method": "bucket", "role": "lead", "on": "0001-01-01", "course": {"from": "0001-01-01", "through": "9999-12-31"}}`))
	f.Fuzz(func(t *testing.T, in []byte) {
		facts, err := Decode(in)
		if err != nil {
			if len(groundhand.Refusals(err)) != 1 {
				t.Fatalf("not a refusal: %v", err)
			}
			return
		}
		answers, err := facts.Answers()
		if err != nil || len(answers.Answers) != len(facts.Questions) {
			t.Fatalf("%d of %d questions answered: %v", len(answers.Answers), len(facts.Questions), err)
		}
		written, err := facts.Encode()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := Decode(written); err != nil {
			t.Fatalf("what was read and written is refused: %v", err)
		}
	})
}
