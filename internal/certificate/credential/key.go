package credential

import (
	"bytes"
	"crypto/ed25519"
	"net/netip"
	"net/url"
	"regexp"
	"strconv"
	"strings"

	"github.com/mr-tron/base58"

	"groundhand/internal/groundhand"
)

// Headers before a key and the letter of base58-btc (W3C Data Integrity EdDSA Cryptosuites 1.0, section 2.1.1).
var ed25519Header = []byte{0xed, 0x01}

const (
	multibase58 = "z"
	keyMethod   = "did:key:"
	webMethod   = "did:web:"
)

// encode58 and decode58 know the one base58-btc form of a run of bytes.
func encode58(b []byte) string { return multibase58 + base58.Encode(b) }

func decode58(s string, most int) ([]byte, bool) {
	digits, ok := strings.CutPrefix(s, multibase58)
	if !ok || len(digits) > 2*most {
		return nil, false
	}
	b, err := base58.Decode(digits)
	return b, err == nil && len(b) <= most && encode58(b) == s
}

// Multikey is the public key as text, "z6Mk" and 44 more: key id, fingerprint and name of its file in one.
func Multikey(pub ed25519.PublicKey) string {
	return encode58(append(bytes.Clone(ed25519Header), pub...))
}

// ParseMultikey reads what Multikey writes. Keys of other kinds, and private ones, are refused by their header.
func ParseMultikey(s string) (ed25519.PublicKey, error) {
	const size = ed25519.PublicKeySize
	b, ok := decode58(s, len(ed25519Header)+size)
	if !ok || len(b) != len(ed25519Header)+size || !bytes.HasPrefix(b, ed25519Header) {
		return nil, groundhand.Invalid("", "This is not the Multikey of an Ed25519 public key, which begins with z6Mk and has 48 characters.")
	}
	return ed25519.PublicKey(b[len(ed25519Header):]), nil
}

// KeyIssuer is the issuer id that is the key itself: it needs no address, and ends with the key.
func KeyIssuer(pub ed25519.PublicKey) string { return keyMethod + Multikey(pub) }

func bareIP(host string) bool {
	_, err := netip.ParseAddr(host)
	return err == nil
}

var hostName = regexp.MustCompile(`^[a-z0-9]([a-z0-9-]*[a-z0-9])?(\.[a-z0-9]([a-z0-9-]*[a-z0-9])?)*$`)

// WebIssuer is the issuer id that belongs to a public address, https://host or https://host:port. The keys are then looked up at
// /.well-known/did.json there, so a path would lead elsewhere and is refused; so is a bare IP address, which the method does not allow.
func WebIssuer(address string) (string, error) {
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "https" || u.Host == "" {
		return "", groundhand.Invalid("address", "%q is not the https address of a site, as https://training.example.", address)
	}
	host, port := strings.ToLower(u.Hostname()), u.Port()
	switch {
	case u.User != nil || strings.Trim(u.Path, "/") != "" || len(u.Path) > 1 || strings.ContainsAny(address, "?#"):
		return "", groundhand.Invalid("address", "The address has more than a host and a port; leave the rest out.")
	case bareIP(host):
		return "", groundhand.Invalid("address", "The address is a bare IP address; the keys of an issuer belong to a name.")
	case !hostName.MatchString(host) || strings.Trim(host, "0123456789.") == "":
		return "", groundhand.Invalid("address", "%q is not the name of a host; write names in other letters in their ASCII form, beginning with xn--.", host)
	case strings.HasSuffix(u.Host, ":"):
		return "", groundhand.Invalid("address", "The port is missing after the colon.")
	}
	if port == "" || port == "443" { // the port of https goes without saying, and one site should have one id
		return webMethod + host, nil
	}
	if n, err := strconv.Atoi(port); err != nil || n < 1 || n > 65535 || strconv.Itoa(n) != port {
		return "", groundhand.Invalid("address", "The port %q is not a number between 1 and 65535.", port)
	}
	return webMethod + host + "%3A" + port, nil
}
