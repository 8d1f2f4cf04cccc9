package graph

import (
	"bytes"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strconv"
	"strings"

	"groundhand/internal/certificate"
	"groundhand/internal/groundhand"
)

// certificatesZip streams the certificates that the parameters name: from, through or month, crew, employer, client, ruleSet, and any number of person and
// number. They mean what CertificateFilter means.
func (m mouth) certificatesZip(w http.ResponseWriter, req *http.Request) {
	filter, err := filterOf(req.URL.RawQuery)
	if err != nil {
		m.refuse(w, req, err)
		return
	}
	file := &download{w: w, name: "certificates-" + m.Roll.Today().String() + ".zip", kind: "application/zip"}
	_, err = m.Issuer.Export(req.Context(), viewer(req.Context()), filter, file, nil)
	m.finish(file, req, err)
}

// certificateFile gives one certificate as a page, or its signed file byte for byte, in the media type of the W3C's credentials.
func (m mouth) certificateFile(w http.ResponseWriter, req *http.Request) {
	name := req.PathValue("file")
	number := groundhand.CertificateID(strings.TrimSuffix(name, path.Ext(name)))
	var data bytes.Buffer
	var kind string
	var err error
	switch path.Ext(name) {
	case ".pdf":
		kind, err = "application/pdf", m.Issuer.Paper(req.Context(), viewer(req.Context()), number, &data)
	case ".json":
		var signed []byte
		signed, err = m.Issuer.Signed(req.Context(), viewer(req.Context()), number)
		kind, data = "application/vc", *bytes.NewBuffer(signed)
	default:
		err = groundhand.NotFound("number", "Ask for /certificates/NUMBER.pdf, the page, or /certificates/NUMBER.json, the signed file.")
	}
	if err != nil {
		m.refuse(w, req, err)
		return
	}
	w.Header().Set("Content-Length", strconv.Itoa(data.Len()))
	_, _ = (&download{w: w, name: name, kind: kind}).Write(data.Bytes()) // the client may have gone
}

// wanted are the parameters of a ZIP of certificates; those that are true may be given several times.
var wanted = map[string]bool{"from": false, "through": false, "month": false, "crew": false, "employer": false, "client": false, "ruleSet": false, "person": true, "number": true}

const parameters = "from, through or month, crew, employer, client, ruleSet, person and number"

// filterOf reads the parameters. One that is not known is refused: certificates of everybody must not go out because "from" was misspelt.
func filterOf(query string) (certificate.Filter, error) {
	var p groundhand.Problems
	given, err := url.ParseQuery(query)
	if err != nil {
		return certificate.Filter{}, groundhand.Invalid("", "The parameters cannot be read; give at most 10,000, and write what is no letter or digit as %%XX.")
	}
	if len(given) > len(wanted) {
		return certificate.Filter{}, groundhand.Invalid("", "There are no more than %d parameters: %s.", len(wanted), parameters)
	}
	checkParameters(&p, given)
	f := certificate.Filter{Crew: groundhand.CrewID(given.Get("crew")), Employer: given.Get("employer"), Client: given.Get("client"), RuleSet: groundhand.RuleSetID(given.Get("ruleSet")),
		People: named[groundhand.WorkerID](given["person"]), Numbers: named[groundhand.CertificateID](given["number"])}
	f.ShownFrom, f.ShownThrough = daysOf(&p, given)
	return f, p.Err()
}

func checkParameters(p *groundhand.Problems, given url.Values) {
	names := make([]string, 0, len(given))
	for name := range given {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		several, known := wanted[name]
		switch {
		case !known:
			p.Add(groundhand.CodeInvalid, name, "There is no such parameter; give %s.", parameters)
		case len(given[name]) > 1 && !several:
			p.Add(groundhand.CodeInvalid, name, "Give this once.")
		case slices.Contains(given[name], ""):
			p.Add(groundhand.CodeInvalid, name, "Give a value, or leave this out.")
		}
	}
}

// daysOf are the first and the last day asked for. A month is a way to say both.
func daysOf(p *groundhand.Problems, given url.Values) (from, through groundhand.Date) {
	if !given.Has("month") {
		return dayOf(p, "from", given.Get("from")), dayOf(p, "through", given.Get("through"))
	}
	if given.Has("from") || given.Has("through") {
		p.Add(groundhand.CodeInvalid, "month", "Give a month, or a first and a last day, not both.")
		return 0, 0
	}
	month := given.Get("month")
	first, err := groundhand.ParseDate(month + "-01")
	if err != nil && month != "" {
		p.Add(groundhand.CodeInvalid, "month", "%q is no month; write it as 2025-03.", month)
	}
	return first, first.MonthEnd()
}

func dayOf(p *groundhand.Problems, name, text string) groundhand.Date {
	if text == "" {
		return 0
	}
	day, err := groundhand.ParseDate(text)
	_ = p.Take(name, err) // a day that cannot be read is a refusal and nothing else
	return day
}
