package groundhand

import "testing"

func TestHidden(t *testing.T) {
	for _, r := range "\x00\t\n\x7f\u0085\u2028\u2029\u202A\u202E\u2066\u2069" {
		if !Hidden(r) {
			t.Errorf("%#U is let through", r)
		}
	}
	for _, r := range " aŁ'\u2019\u00A0\u2060李" {
		if Hidden(r) {
			t.Errorf("%#U is refused", r)
		}
	}
}
