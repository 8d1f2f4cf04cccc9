package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// FuzzLook asks for ids of any form: a known one gets its page, whatever else gets the one reply, and only ids of the right form are
// asked for.
func FuzzLook(f *testing.F) {
	for _, seed := range []string{validID, strings.ToUpper(validID), "", "x", "../" + validID, "%2F", validID + "/", "{" + validID + "}", "\x00", "ﬀ", "page.css", strings.Repeat("0", 36)} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		d := newDesk()
		handler := New(d, newLog(&ink{}), manyChecks)
		ask := func(path string) *httptest.ResponseRecorder {
			w := httptest.NewRecorder()
			handler.ServeHTTP(w, &http.Request{Method: http.MethodGet, URL: &url.URL{Path: path}, Header: http.Header{}, RemoteAddr: "192.0.2.1:1"})
			return w
		}
		got := ask("/verify/" + typed)
		known, isKnown := d.looked[strings.ToLower(typed)]
		switch {
		case isKnown:
			require.Equal(t, http.StatusOK, got.Code)
			require.Contains(t, got.Body.String(), "<h1>"+stateWords[known.State].Word+"</h1>")
		case typed == "page.css", strings.EqualFold(typed, brokenID), strings.EqualFold(typed, panicID):
		default:
			require.Equal(t, http.StatusNotFound, got.Code)
			want := ask("/verify/" + strangeID)
			require.Equal(t, want.Body.String(), got.Body.String())
			require.Equal(t, want.Header(), got.Header())
		}
		for _, asked := range d.asked {
			require.Regexp(t, `^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$`, asked)
		}
	})
}
