package paper

import (
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"groundhand/internal/groundhand"
)

// MaxBatch is the most certificates that one ZIP file takes.
const MaxBatch = 10_000

// File is one more file of a bundle.
type File struct {
	Name string
	Data []byte
}

// Row is one certificate of a bundle.
type Row struct {
	Sheet  Sheet
	Status string // how it stood on the day of the bundle, for the list; the page does not say it
}

// Bundle is what one export hands out.
type Bundle struct {
	Day         groundhand.Date // day of the export, also the time of every entry
	Rows        []Row           // in any order; the file has them by number
	Readme      string          // how to check, in plain words
	Document    []byte          // the issuer's keys, did.json
	StatusLists []File          // signed lists, named status-1.json, status-2.json …; at least one when a certificate has a check address
	Extra       []File          // further files, Name being the whole path
	Folder      string          // in which all but the further files stands, as "export/"; empty: everything stands side by side
}

// Folders and files that the bundle itself fills.
const (
	readmeName    = "README.txt"
	manifestName  = "manifest.csv"
	pagesFolder   = "certificates/"
	signedFolder  = "credentials/"
	issuerFolder  = "issuer/"
	statusFolder  = "status/"
	documentName  = issuerFolder + "did.json"
	pageEnding    = ".pdf"
	longestExtra  = 200
	maxOtherFiles = 1000
)

var (
	statusName = regexp.MustCompile(`^status-[1-9][0-9]{0,5}\.json$`)
	extraName  = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]*(/[A-Za-z0-9][A-Za-z0-9._-]*)*$`)
)

// check reports every problem of a bundle at once, so that nothing is half written.
func (b Bundle) check() error {
	if len(b.Rows) > MaxBatch {
		return &groundhand.Error{Code: groundhand.CodeTooLarge, Field: "rows",
			Message: fmt.Sprintf("These are %d certificates; one file takes %d. Ask for fewer at a time.", len(b.Rows), MaxBatch)}
	}
	var p groundhand.Problems
	if b.Day.IsZero() {
		p.Add(groundhand.CodeInvalid, "day", "The day of the export must be given.")
	}
	if strings.TrimSpace(b.Readme) == "" {
		p.Add(groundhand.CodeInvalid, "readme", "The file needs its page on how to check it.")
	}
	if !json.Valid(b.Document) {
		p.Add(groundhand.CodeInvalid, "document", "The issuer's keys are missing or no JSON; without them nobody can check a certificate.")
	}
	checkLists(&p, b)
	checkExtra(&p, b.Extra, b.Folder)
	if err := checkRows(&p, b.Rows); err != nil {
		return err
	}
	return p.Err()
}

func checkLists(p *groundhand.Problems, b Bundle) {
	if len(b.StatusLists) == 0 && slices.ContainsFunc(b.Rows, func(r Row) bool { return r.Sheet.CheckAddress != "" }) {
		p.Add(groundhand.CodeInvalid, "statusLists", "A certificate here can be withdrawn, so the signed list of those that were must go along.")
	}
	seen := map[string]bool{}
	for i, l := range b.StatusLists {
		path := fmt.Sprintf("statusLists[%d]", i)
		switch {
		case !statusName.MatchString(l.Name):
			p.Add(groundhand.CodeInvalid, path+".name", "A list of withdrawn certificates is named status-1.json and so on, not %q.", l.Name)
		case seen[l.Name]:
			p.Add(groundhand.CodeConflict, path+".name", "%s is here twice.", l.Name)
		case !json.Valid(l.Data):
			p.Add(groundhand.CodeInvalid, path+".data", "%s is no JSON.", l.Name)
		}
		seen[l.Name] = true
	}
}

// checkExtra keeps further files out of the places of the bundle's own, and every name inside the folder that somebody unpacks it in.
func checkExtra(p *groundhand.Problems, extra []File, folder string) {
	if len(extra) > maxOtherFiles {
		p.Add(groundhand.CodeTooLarge, "extra", "At most %d further files go along.", maxOtherFiles)
		return
	}
	if folder != "" && (!strings.HasSuffix(folder, "/") || !extraName.MatchString(strings.TrimSuffix(folder, "/"))) {
		p.Add(groundhand.CodeInvalid, "folder", "%q is no name for a folder inside a ZIP file.", folder)
	}
	seen := map[string]bool{}
	if folder == "" {
		seen[strings.ToLower(readmeName)], seen[manifestName] = true, true
	}
	for i, f := range extra {
		path := fmt.Sprintf("extra[%d].name", i)
		name := strings.ToLower(f.Name) // some systems keep no two files whose names differ in case alone
		switch {
		case !extraName.MatchString(f.Name) || len(f.Name) > longestExtra || slices.ContainsFunc(strings.Split(f.Name, "/"), deviceName.MatchString):
			p.Add(groundhand.CodeInvalid, path, "%q is no name for a file inside a ZIP file.", f.Name)
		case seen[name] || inOwnFolder(name, folder):
			p.Add(groundhand.CodeConflict, path, "The place of %q is taken.", f.Name)
		}
		seen[name] = true
	}
}

func inOwnFolder(name, folder string) bool {
	if folder != "" {
		return strings.HasPrefix(name+"/", strings.ToLower(folder))
	}
	for _, own := range []string{pagesFolder, signedFolder, issuerFolder, statusFolder} {
		if strings.HasPrefix(name+"/", own) {
			return true
		}
	}
	return false
}

// checkRows looks at every certificate. A number or an id that comes twice would make one of the two unfindable.
func checkRows(p *groundhand.Problems, rows []Row) error {
	found := checkAll(rows)
	numbers, ids := map[string]int{}, map[string]int{}
	for i, r := range rows {
		path := fmt.Sprintf("rows[%d]", i)
		if err := p.Take(path+".sheet", found[i]); err != nil {
			return err
		}
		checkText(p, path+".status", r.Status, maxText)
		once(p, numbers, path+".sheet.number", strings.ToLower(r.Sheet.Number), i)
		once(p, ids, path+".sheet.credentialId", r.Sheet.CredentialID, i)
	}
	return nil
}

func once(p *groundhand.Problems, seen map[string]int, path, key string, i int) {
	if first, twice := seen[key]; twice && key != "" {
		p.Add(groundhand.CodeConflict, path, "%q is already that of rows[%d].", key, first)
		return
	}
	seen[key] = i
}
