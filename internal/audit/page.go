package audit

import (
	"bytes"
	"fmt"
	"html/template"
	"slices"
	"time"
)

// account is what the pages of a pack say about it.
type account struct {
	Crew, Window, Known string
	Entries             int
}

func (p *pack) account() account {
	return account{fmt.Sprintf("%s (%s)", p.crew.ID, p.crew.Name), p.ask.From.Words() + " to " + p.ask.Through.Words(),
		time.UnixMilli(int64(p.known)).UTC().Format(time.RFC3339), len(p.entries)}
}

// howTo is how to check a pack without the program, in steps. The page and the text say the same.
var howTo = []struct{ Title, Text string }{
	{"That no file of this pack was changed since it was written",
		"SHA256SUMS lists the SHA-256 of every other file. With common tools: sha256sum -c SHA256SUMS."},
	{"That every entry is in the log",
		`entries/KIND.jsonl holds one entry a line. A line without its line end is the record that the log was made of, as canonical JSON (RFC 8785). log/leaves.jsonl says for each entry in which file and line it stands, the number of its leaf, and a proof, a list of hashes in hexadecimal. Take h = SHA-256 of the byte 0x00 followed by the bytes of the record. Let n be the number of the leaf and m the size on the second line of log/checkpoint.txt less one. For each hash p of the proof, in order: if n is odd or n equals m, set h = SHA-256 of the byte 0x01, p and h, and then halve n and m until n is odd or zero (halving: drop the remainder); else set h = SHA-256 of the byte 0x01, h and p. Then halve n and m once. Every line of every file in entries is named once in log/leaves.jsonl. At the end h must be the third line of log/checkpoint.txt, which is in base64, and m must be 0. This is the proof of RFC 6962 section 2.1.1, worked out as RFC 9162 section 2.1.3.2 tells.`},
	{"That the log is the one that was kept",
		"Compare log/checkpoint.txt with a signed checkpoint that somebody outside the company kept: the same name on the first line. Whoever holds the records proves with groundhand verify that the kept checkpoint is the beginning of the log; an older checkpoint that is not, was of another history."},
	{"What an entry says", "Days and texts stand as they are; moments are milliseconds since 1970-01-01 in UTC; what says nothing is left out. happened_on and happened_at say when it happened, recorded_at when it was told. What names a person is sealed: in its place stands a digest with a secret salt, so that a name can be erased one day without breaking the proof. names.json holds the names of the people of this crew, for reading only."},
	{"That the answers follow from the entries",
		"standings.json is a standing-facts/1 file: the entries, the rules and the questions. groundhand standing works it out anew, and so can any other program written to that form. answers/ holds each answer that was given about the crew with the question that it was worked out from (cover-question/1), for groundhand cover --question. rules/ holds the rules in force."},
	{"Who signed", "Every entry names its author, in which capacity, when it happened and when it was recorded; an assessment names its assessor, an extension who approved it. entries/corrections.jsonl says of each correction what was wrong, who asked and who agreed."},
}

const caution = "This pack says what was recorded. It does not say that a law is met, and no answer in it replaces the job briefing, the check of kit and lower controls at the truck, local rules, the maker's instructions or the judgement of licensed people."

func (p *pack) readme() []byte {
	t := p.account()
	var b bytes.Buffer
	fmt.Fprintf(&b, "Audit pack\n\nCrew:          %s\nTime:          %s\nAs known at:   %s\nEntries:       %d\n\n%s\n\nHow to check it without us\n", t.Crew, t.Window, t.Known, t.Entries, caution)
	for i, step := range howTo {
		fmt.Fprintf(&b, "\n%d. %s\n   %s\n", i+1, step.Title, step.Text)
	}
	return b.Bytes()
}

var page = template.Must(template.New("page").Parse(`<!doctype html>
<html lang="en"><meta charset="utf-8"><title>Audit pack: {{.Told.Crew}}</title>
<style>body{font:18px/1.5 serif;max-width:44em;margin:2em auto;padding:0 1em;color:#000;background:#fff}dt{float:left;width:9em}dd{margin-left:9em}</style>
<h1>Audit pack</h1>
<dl><dt>Crew<dd>{{.Told.Crew}}<dt>Time<dd>{{.Told.Window}}<dt>As known at<dd>{{.Told.Known}}<dt>Entries<dd>{{.Told.Entries}}</dl>
<p><strong>{{.Caution}}</strong></p>
<h2>How to check it without us</h2>
<ol>{{range .Steps}}<li><h3>{{.Title}}</h3><p>{{.Text}}</p>{{end}}</ol>
<h2>Files</h2>
<ul>{{range .Files}}<li>{{.}}{{end}}</ul>
</html>
`))

func (p *pack) page() []byte {
	files := make([]string, 0, len(p.files))
	for name := range p.files {
		if name != "index.html" {
			files = append(files, name)
		}
	}
	slices.Sort(files)
	var b bytes.Buffer
	err := page.Execute(&b, map[string]any{"Told": p.account(), "Caution": caution, "Steps": howTo, "Files": files})
	if err != nil {
		panic(err) // the page is part of this package
	}
	return b.Bytes()
}
