package web

import (
	"encoding/xml"
	"io"
	"maps"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate"
)

// lookable are the certificates with a page of their own.
var lookable = map[string]certificate.State{validID: certificate.Valid, lapsedID: certificate.NoLongerCurrent, replacedID: certificate.Replaced, withdrawnID: certificate.Withdrawn}

func TestAnIDShowsItsStateAndPublicFacts(t *testing.T) {
	s := open(t, manyChecks)
	for id, state := range lookable {
		got := s.get(t, "/verify/"+id)
		require.Equal(t, http.StatusOK, got.StatusCode)
		assert.Contains(t, got.text, "<h1>"+stateWords[state].Word+"</h1>")
		assert.Contains(t, got.text, "<p class=\"do\">"+stateWords[state].Do+"</p>")
		for _, fact := range []string{"GH-2026-0042", "Bucket rescue, two on the ground, block-and-tackle kit", "Larkspur Ridge Line Services (invented)", "Thu 14 May 2026", "Fri 14 May 2027",
			"1a2b 3c4d 5e6f 7a8b", "z6MksabQUwScavNEMofbE5kUKfJRHwrhbA4Vr26fkQwXQ5So"} {
			assert.Contains(t, got.text, fact)
		}
		assert.Equal(t, state == certificate.Replaced || state == certificate.Withdrawn, strings.Contains(got.text, stateWords[state].Word+`</h1><p class="since">on Wed 3 Jun 2026</p>`))
	}
}

func TestEachStateHasAWordAShapeAndASentenceOfItsOwn(t *testing.T) {
	s := open(t, manyChecks)
	shapes, words, sentences := map[string]bool{}, map[string]bool{}, map[string]bool{}
	for _, id := range append(slices.Sorted(maps.Keys(lookable)), strangeID) {
		text := s.get(t, "/verify/"+id).text
		_, rest, found := strings.Cut(text, "<svg")
		require.True(t, found)
		shape, rest, _ := strings.Cut(rest, "</svg>")
		_, rest, _ = strings.Cut(rest, "<h1>")
		word, rest, _ := strings.Cut(rest, "</h1>")
		_, rest, _ = strings.Cut(rest, `<p class="do">`)
		sentence, _, _ := strings.Cut(rest, "</p>")
		shapes[shape], words[word], sentences[sentence] = true, true, true
	}
	assert.Len(t, shapes, 5)
	assert.Len(t, words, 5)
	assert.Len(t, sentences, 5)
	assert.Equal(t, []string{"No longer current", "Not known", "Replaced", "Valid", "Withdrawn"}, slices.Sorted(maps.Keys(words)))
}

func TestNoColourButBlackOnWhite(t *testing.T) {
	s := open(t, manyChecks)
	text := s.get(t, "/verify/page.css").text
	for id := range lookable {
		text += s.get(t, "/verify/"+id).text
	}
	painted := regexp.MustCompile(`(?:color|background|fill|stroke|border[a-z-]*|outline)(?::|=)[^;>]*`).FindAllString(text, -1)
	assert.NotEmpty(t, painted)
	for _, found := range painted {
		assert.NotRegexp(t, `(?i)red|green|amber|yellow|orange|blue|rgb|hsl|gr[ae]y|currentcolor`, found)
		for _, colour := range regexp.MustCompile(`#[0-9a-fA-F]+`).FindAllString(found, -1) {
			assert.Contains(t, []string{"#000", "#fff"}, colour, found)
		}
	}
}

func TestUnknownMalformedAndNeverIssuedAreOneReply(t *testing.T) {
	s := open(t, manyChecks)
	want := s.get(t, "/verify/"+strangeID)
	require.Equal(t, http.StatusNotFound, want.StatusCode)
	require.Contains(t, want.text, "<h1>Not known</h1>")
	for _, path := range []string{"/verify/x", "/verify/", "/verify//", "/verify/GH-2026-0042", "/verify/" + validID + "/", "/verify/" + validID[:35], "/verify/" + validID + "0", "/verify/{" + validID + "}",
		"/verify/urn:uuid:" + validID, "/verify/" + strings.ReplaceAll(validID, "-", ""), "/verify/00000000-0000-0000-0000-000000000000", "/verify/%37" + validID[1:], "/verify%2F" + validID,
		"/verify/" + strings.ReplaceAll(validID, "-", "_"), "/verify/" + strings.Repeat("a", 4000), "/verify/../verify/" + validID, "//verify/" + validID, "/verify/./" + validID, "/Verify/" + validID,
		"/", "/graphql", "/certificates.zip", "/explorer/", "/favicon.ico", "/robots.txt", "/status/3", "/status/0", "/status/01", "/status/+1", "/status/1/", "/status/", "/status/99999999999999999999", "/status/%31",
		"/.well-known/", "/.well-known/did.jsonld", "/verify/page.html", "/verify/page.css/", "/page/page.css"} {
		got := s.get(t, path)
		assert.Equal(t, http.StatusNotFound, got.StatusCode, path)
		assert.Equal(t, want.text, got.text, path)
		got.Header.Del("Date")
		want.Header.Del("Date")
		assert.Equal(t, want.Header, got.Header, path)
	}
	assert.Equal(t, s.get(t, "/verify/"+validID).text, s.get(t, "/verify/"+strings.ToUpper(validID)).text, "typed from paper")
}

func TestMalformedIDsAreNotAskedFor(t *testing.T) {
	s := open(t, manyChecks)
	s.get(t, "/verify/x")
	s.get(t, "/verify/"+strings.ToUpper(validID))
	assert.Equal(t, []string{validID}, s.asked)
}

func TestEveryReplyCarriesTheHeaders(t *testing.T) {
	s := open(t, manyChecks)
	replies := map[string]answer{"form": s.get(t, "/verify"), "valid": s.get(t, "/verify/"+validID), "unknown": s.get(t, "/verify/x"), "style": s.get(t, "/verify/page.css"), "elsewhere": s.get(t, "/"),
		"fault": s.get(t, "/verify/"+brokenID), "panic": s.get(t, "/verify/"+panicID), "method": s.ask(t, http.MethodPut, "/verify", nil), "file": s.send(t, `{"state":"VALID"}`), "wrong": s.send(t, "x"),
		"list": s.get(t, "/status/1"), "document": s.get(t, "/.well-known/did.json")}
	for name, got := range replies {
		assert.Equal(t, []string{"default-src 'none'; style-src 'self'; form-action 'self'"}, got.Header.Values("Content-Security-Policy"), name)
		assert.Equal(t, "no-referrer", got.Header.Get("Referrer-Policy"), name)
		assert.Equal(t, "noindex", got.Header.Get("X-Robots-Tag"), name)
		assert.Equal(t, "nosniff", got.Header.Get("X-Content-Type-Options"), name)
		assert.Equal(t, "DENY", got.Header.Get("X-Frame-Options"), name)
		assert.Empty(t, got.Header.Values("Set-Cookie"), name)
		if name != "list" && name != "document" {
			assert.Equal(t, "no-store", got.Header.Get("Cache-Control"), name)
			assert.Empty(t, got.Header.Values("Access-Control-Allow-Origin"), name)
		}
		assert.NotContains(t, strings.ToLower(got.Header.Get("Server")), "go", name)
	}
	assert.Equal(t, http.StatusServiceUnavailable, replies["fault"].StatusCode)
	assert.Equal(t, http.StatusServiceUnavailable, replies["panic"].StatusCode)
}

func TestNeverTheSignedFileWhateverIsAccepted(t *testing.T) {
	s := open(t, manyChecks)
	want := s.get(t, "/verify/"+validID)
	for _, kind := range []string{"application/json", "application/vc", "application/ld+json", "application/pdf", "text/plain", "*/*", "application/json;q=1, text/html;q=0", "\tx", strings.Repeat("a/b,", 900)} {
		got := s.get(t, "/verify/"+validID, "Accept", kind)
		assert.Equal(t, want.text, got.text, kind)
		assert.Equal(t, "text/html; charset=utf-8", got.Header.Get("Content-Type"), kind)
	}
	assert.Equal(t, want.text, s.get(t, "/verify/"+validID+"?format=json&callback=x").text)
}

func TestCautionsStandBesideEveryVerdict(t *testing.T) {
	s := open(t, manyChecks)
	pages := []answer{s.get(t, "/verify"), s.get(t, "/verify/"+strangeID)}
	for id := range lookable {
		pages = append(pages, s.get(t, "/verify/"+id))
	}
	for file := range s.inside {
		pages = append(pages, s.send(t, file))
	}
	for _, page := range pages {
		for _, words := range []string{"It is no licence.", "is fit for today&#39;s job", "never says that a law is met", "Local rules, the makers&#39; instructions and licensed practice come first."} {
			assert.Contains(t, page.text, words)
		}
	}
	assert.GreaterOrEqual(t, len(pages), 20)
}

func TestPagesNeedNoScriptAndNothingFromElsewhere(t *testing.T) {
	s := open(t, manyChecks)
	for _, text := range []string{s.get(t, "/verify").text, s.get(t, "/verify/"+validID).text, s.send(t, `{"state":"VALID"}`).text} {
		for _, foreign := range []string{"<script", "javascript:", "style=", "src=", "url(", "@import", "<img", "<iframe"} {
			assert.NotContains(t, text, foreign)
		}
		assert.NotRegexp(t, `<[^>]* on[a-z]+=`, text)
		assert.Contains(t, text, `<html lang="en">`)
		assert.Contains(t, text, `name="viewport"`)
		assert.Equal(t, 1, strings.Count(text, "<h1>"))
	}
	css := s.get(t, "/verify/page.css")
	assert.Equal(t, "text/css; charset=utf-8", css.Header.Get("Content-Type"))
	for _, want := range []string{"@media print", "color: #000", "background: #fff"} {
		assert.Contains(t, css.text, want)
	}
	assert.NotContains(t, css.text, "url(")
}

// Written as XML would be, the pages are surely well-formed HTML: every element is closed in turn.
func TestPagesAreWellFormed(t *testing.T) {
	s := open(t, manyChecks)
	for _, text := range []string{s.get(t, "/verify").text, s.get(t, "/verify/"+withdrawnID).text, s.get(t, "/").text, s.send(t, `{"state":"VALID"}`).text, s.send(t, "").text} {
		d := xml.NewDecoder(strings.NewReader(text))
		d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
		var depth []string
		for {
			token, err := d.Token()
			if err == io.EOF {
				break
			}
			require.NoError(t, err)
			switch el := token.(type) {
			case xml.StartElement:
				depth = append(depth, el.Name.Local)
			case xml.EndElement:
				require.Equal(t, depth[len(depth)-1], el.Name.Local)
				depth = depth[:len(depth)-1]
			}
		}
		assert.Empty(t, depth)
	}
}

func TestListsAreForAnybodyAndKeptForMinutes(t *testing.T) {
	s := open(t, manyChecks)
	list, document := s.get(t, "/status/1"), s.get(t, "/.well-known/did.json")
	assert.Equal(t, `{"list":1}`, list.text)
	assert.Equal(t, "application/vc", list.Header.Get("Content-Type"))
	assert.Equal(t, `{"id":"did:web:x.example"}`, document.text)
	assert.Equal(t, "application/did+json", document.Header.Get("Content-Type"))
	for _, got := range []answer{list, document} {
		assert.Equal(t, "*", got.Header.Get("Access-Control-Allow-Origin"))
		assert.Equal(t, "public, max-age=300", got.Header.Get("Cache-Control"))
		assert.Empty(t, got.Header.Get("Access-Control-Allow-Credentials"))
	}
	broken := s.get(t, "/status/2")
	assert.Equal(t, http.StatusServiceUnavailable, broken.StatusCode)
	assert.Equal(t, "no-store", broken.Header.Get("Cache-Control"), "a fault is not kept")
}

func TestHEADIsGETWithoutABody(t *testing.T) {
	s := open(t, manyChecks)
	for _, path := range []string{"/verify", "/verify/" + validID, "/verify/x", "/verify/page.css", "/status/1", "/.well-known/did.json"} {
		get, head := s.get(t, path), s.ask(t, http.MethodHead, path, nil)
		assert.Empty(t, head.text)
		assert.Equal(t, get.StatusCode, head.StatusCode, path)
		assert.Equal(t, get.Header.Get("Content-Length"), head.Header.Get("Content-Length"), path)
		assert.Equal(t, get.Header.Get("Content-Type"), head.Header.Get("Content-Type"), path)
	}
}

func TestThePageTellsWhenItWasChecked(t *testing.T) {
	o := manyChecks
	o.Now = func() time.Time { return time.Date(2026, 6, 1, 14, 5, 0, 0, time.FixedZone("", 3600)) }
	s := open(t, o)
	assert.Contains(t, s.get(t, "/verify/"+validID).text, "Checked on Mon 1 Jun 2026, 13:05 UTC.")
	assert.NotContains(t, s.get(t, "/verify/x").text, "Checked on", "the reply for what is not known is always the same")
	assert.NotContains(t, open(t, manyChecks).get(t, "/verify/"+validID).text, "Checked on")
}
