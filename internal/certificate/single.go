package certificate

import (
	"context"
	"io"

	"groundhand/internal/access"
	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Paper writes one certificate as a PDF with its signed file inside. One that was withdrawn or replaced is not given out any more.
func (c *Issuer) Paper(ctx context.Context, by groundhand.Account, number groundhand.CertificateID, w io.Writer) error {
	cert, of, err := c.handedOut(ctx, by, number)
	if err != nil {
		return err
	}
	sheet, err := rendered(cert, of)
	if err != nil {
		return err
	}
	return paper.Write(w, sheet)
}

// Signed gives the signed file of one certificate, byte for byte as it was signed. One that was withdrawn or replaced is not given out any more.
func (c *Issuer) Signed(ctx context.Context, by groundhand.Account, number groundhand.CertificateID) ([]byte, error) {
	cert, _, err := c.handedOut(ctx, by, number)
	return []byte(cert.Signed), err
}

func (c *Issuer) handedOut(ctx context.Context, by groundhand.Account, number groundhand.CertificateID) (cert groundhand.Certificate, of issuers, err error) {
	if err := access.May(by, access.ReadCertificates); err != nil {
		return cert, of, err
	}
	err = c.store.InSnapshot(ctx, func(s *store.Store) (err error) {
		in := c.over(s)
		if cert, err = in.good(ctx, number); err != nil {
			return err
		}
		if cert.Signed == "" {
			return groundhand.Conflict("number", "Certificate %s was issued before certificates were signed; have it replaced by a signed one.", number)
		}
		if !isSigned(cert) {
			return groundhand.Conflict("number", "The names on certificate %s were erased, so it cannot be given out.", number)
		}
		of, err = in.issuers(ctx)
		return err
	})
	if err != nil {
		return groundhand.Certificate{}, of, err
	}
	return cert, of, nil
}
