package certificate

import (
	"bytes"
	"context"
	"errors"
	"strings"

	"groundhand/internal/certificate/credential"
	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Inside is what a file says that somebody handed in, and what has become of the certificate it holds.
type Inside struct {
	Looked                   // as Look tells it; NotKnown with a Problem, unless the file is byte for byte one that we issued
	Signed  credential.Found // what was signed, where the signature is ours and fits
	Problem string           // empty, or a code: those of credential.RefusalCode and the ones below
}

// Problems of a file that was handed in, besides those of credential.RefusalCode.
const (
	Foreign       = "FOREIGN"        // signed by another issuer: a general verifier can look at it
	NothingInside = "NOTHING_INSIDE" // a PDF without a signed file in it
	NotReadable   = "NOT_READABLE"   // damaged, or larger than is looked at
	NotRecorded   = "NOT_RECORDED"   // signed with a key of ours, and not what we issued
)

// LookInside reads a certificate that was handed in, a signed file or a page with one inside, and keeps nothing. An error is one of our own
// records; what is wrong with the file is its Problem.
func (c *Issuer) LookInside(ctx context.Context, file []byte) (out Inside, err error) {
	files, problem := signedIn(file)
	if problem != "" {
		return Inside{Looked: Looked{State: NotKnown}, Problem: problem}, nil
	}
	err = c.store.InSnapshot(ctx, func(s *store.Store) error {
		out, err = c.over(s).lookInEach(ctx, files)
		return err
	})
	return out, err
}

// lookInEach gives the first file that we signed or, where there is none, what is wrong with the first.
func (c *Issuer) lookInEach(ctx context.Context, files [][]byte) (first Inside, err error) {
	for i, signed := range files {
		out, err := c.lookInside(ctx, signed)
		if err != nil || out.Problem == "" {
			return out, err
		}
		if i == 0 {
			first = out
		}
	}
	return first, nil
}

// signedIn takes the files that may be signed out of a page.
func signedIn(file []byte) (signed [][]byte, problem string) {
	if !bytes.HasPrefix(bytes.TrimLeft(file, "\x00\t\n\f\r "), []byte("%PDF-")) {
		return [][]byte{file}, ""
	}
	attached, err := paper.Attached(file)
	switch {
	case err != nil:
		return nil, NotReadable
	case len(attached) == 0:
		return nil, NothingInside
	}
	return attached, ""
}

func (c *Issuer) lookInside(ctx context.Context, signed []byte) (Inside, error) {
	out := Inside{Looked: Looked{State: NotKnown}}
	issuers, err := c.issuers(ctx)
	if err != nil {
		return out, err
	}
	found, err := credential.Read(signed, issuers.document)
	var refusal *credential.Refusal
	switch {
	case errors.As(err, &refusal):
		return c.refusedFile(ctx, signed, string(refusal.Code))
	case err != nil:
		return out, err
	case !issuers.known(found.IssuerID):
		out.Problem = Foreign
		return out, nil
	case !issuers.good[found.KeyID]:
		return c.refusedFile(ctx, signed, string(credential.UnknownKey))
	}
	looked, cert, err := c.look(ctx, strings.TrimPrefix(found.ID, urn))
	if err != nil {
		return out, err
	}
	if !sameSigned(cert, signed) && !c.sameErased(cert, found) {
		out.Problem = NotRecorded
		return out, nil
	}
	out.Looked, out.Signed = looked, found
	return out, nil
}

// sameSigned says whether what was handed in, whose signature fits, is what we issued. Its spaces and the order of its members do not matter:
// one signature fits one content.
func sameSigned(cert groundhand.Certificate, signed []byte) bool {
	return proofIn(signed) != "" && proofIn(signed) == proofIn([]byte(cert.Signed))
}

// sameErased says whether what was handed in, whose signature fits, says what we issued, where our own copy was erased for a name in it.
func (c *Issuer) sameErased(cert groundhand.Certificate, found credential.Found) bool {
	return cert.Signed != "" && !isSigned(cert) && found.Number == string(cert.ID) && found.KeyID == cert.KeyID && found.IssuerID == cert.IssuerID &&
		found.Achievement.Code == string(cert.Method) && found.Achievement.Version == string(cert.RuleSetID) && found.Role == roleWords[cert.Role] &&
		found.ShownFrom.Equal(cert.ShownOn.Start(c.roll.Zone())) && found.ValidUntil.Equal(lastSecond(cert.LastGoodDay, c.roll.Zone())) &&
		(found.Status == nil) == (cert.StatusList == 0) && (found.Status == nil || found.Status.Index == cert.StatusIndex)
}

// refusedFile is a file whose signature is not good. Of one that was changed, what anybody is told of the certificate whose id it has is told
// beside it, for comparing. A file under a key that is not good is told about only where it is byte for byte what we issued, such as before that
// key was stolen.
func (c *Issuer) refusedFile(ctx context.Context, signed []byte, problem string) (Inside, error) {
	out := Inside{Looked: Looked{State: NotKnown}, Problem: problem}
	switch credential.RefusalCode(problem) {
	case credential.UnknownIssuer:
		out.Problem = Foreign
	case credential.Changed, credential.UnknownKey:
		id := idIn(signed)
		if !credentialID.MatchString(id) {
			return out, nil
		}
		looked, cert, err := c.look(ctx, id)
		if err != nil {
			return out, err
		}
		if problem == string(credential.Changed) || isSigned(cert) && cert.Signed == string(signed) {
			out.Looked = looked
		}
	}
	return out, nil
}
