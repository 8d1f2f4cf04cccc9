package groundhand

import "unicode"

// Hidden says whether a character is not seen but changes what is: control characters, line and paragraph separators, and the marks that turn
// the direction of writing, with which one name can be made to look like another.
func Hidden(r rune) bool {
	return unicode.IsControl(r) || (r >= 0x202A && r <= 0x202E) || (r >= 0x2066 && r <= 0x2069) || r == 0x2028 || r == 0x2029
}
