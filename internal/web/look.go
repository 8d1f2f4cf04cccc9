package web

import (
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"strings"

	"github.com/google/uuid"

	"groundhand/internal/certificate"
)

// look shows how one certificate stands. Unknown, malformed and never issued get the same reply, byte for byte.
func (p public) look(w http.ResponseWriter, req *http.Request, typed string) {
	id, ok := credentialID(typed)
	if !ok {
		p.log.Info("certificate looked up", "id", "malformed", "state", certificate.NotKnown)
		notKnownPage.write(w)
		return
	}
	found, err := p.check.Look(req.Context(), id)
	if err != nil {
		p.fault(w, req, "a certificate could not be looked up", "id", hashed(id), "error", strings.ReplaceAll(err.Error(), id, hashed(id)))
		return
	}
	p.log.Info("certificate looked up", "id", hashed(id), "state", found.State)
	if !isKnown(found.State) {
		notKnownPage.write(w)
		return
	}
	p.write(w, p.lookedPage(found))
}

// credentialID reads an id as it is printed or typed: a UUID in its usual form, in small or capital letters.
func credentialID(typed string) (string, bool) {
	if len(typed) != 36 {
		return "", false // the library reads other forms too
	}
	id, err := uuid.Parse(typed)
	return id.String(), err == nil
}

// hashed stands for an id in the log: 122 bits of chance cannot be found from it, and whoever holds the certificate can find it again.
func hashed(id string) string {
	sum := sha256.Sum256([]byte(id))
	return hex.EncodeToString(sum[:8])
}
