package store

import (
	"context"

	"groundhand/internal/groundhand"
)

// Revocation says that a certificate was withdrawn or replaced, by the first entry that did. It is final: nothing that comes later takes it back.
type Revocation struct {
	CertificateID groundhand.CertificateID
	StatusList    int // 0: in no published list
	StatusIndex   int
	At            groundhand.Instant // when we were told
	Replaced      bool               // by another certificate; else withdrawn
	Because       string
	By            groundhand.EntryID // the withdrawal, or the certificate that took its place
}

// Revoked gives every certificate that was ever withdrawn or replaced, in the order of that.
func Revoked(ctx context.Context, s *Store) ([]Revocation, error) {
	return s.revocations(ctx, revocationsOf("", "", ""))
}

// RevokedIn is Revoked for the certificates of one published list.
func RevokedIn(ctx context.Context, s *Store, list int) ([]Revocation, error) {
	return s.revocations(ctx, revocationsOf("", "", "WHERE c.status_list = ?"), list)
}

// RevokedAmong is Revoked for certificates with one of these numbers.
func RevokedAmong(ctx context.Context, s *Store, ids []groundhand.CertificateID) ([]Revocation, error) {
	if len(ids) == 0 {
		return nil, nil
	}
	const among = " IN (SELECT value FROM json_each(?))"
	asked := jsonKeys(ids)
	return s.revocations(ctx, revocationsOf("WHERE w.withdraws_id"+among, "AND r.replaces_id"+among, ""), asked, asked)
}

// revocationsOf is the question for what was withdrawn, by some withdrawals and some certificates in the place of others. It goes from those to the
// certificates that they end, because they are few beside all certificates.
func revocationsOf(withdrawals, replacing, certificates string) string {
	return `SELECT c.id, c.status_list, c.status_index, x.at, x.replaced, x.because, x.by FROM (
  SELECT w.withdraws_id AS gone, w.recorded_at AS at, w.id AS by, 0 AS replaced, w.because AS because FROM withdrawals w ` + withdrawals + `
  UNION ALL SELECT r.replaces_id, r.recorded_at, r.id, 1, r.because FROM certificates r WHERE r.replaces_id IS NOT NULL ` + replacing + `) x
JOIN certificates c ON c.id = x.gone ` + certificates + ` ORDER BY x.at, x.replaced DESC, x.by, c.id`
}

// revocations tells each certificate once, with what ended it first.
func (s *Store) revocations(ctx context.Context, query string, args ...any) ([]Revocation, error) {
	rows, err := s.read.WithContext(ctx).Raw(query, args...).Rows()
	if err != nil {
		return nil, coded(err)
	}
	defer rows.Close()
	seen := map[groundhand.CertificateID]bool{}
	var out []Revocation
	for rows.Next() {
		var r Revocation
		if err := rows.Scan(&r.CertificateID, &r.StatusList, &r.StatusIndex, &r.At, &r.Replaced, &r.Because, &r.By); err != nil {
			return nil, err
		}
		if !seen[r.CertificateID] {
			seen[r.CertificateID] = true
			out = append(out, r)
		}
	}
	return out, coded(rows.Err())
}

// usedIndexes says once more that there is a list, which is what the index goes by.
const usedIndexes = "SELECT status_index FROM certificates WHERE status_list > 0 AND status_list = ? ORDER BY status_index"

// UsedIndexes gives the places that are taken in a published list, in their order. A place is never given twice, not even after a withdrawal.
func UsedIndexes(ctx context.Context, s *Store, list int) (out []int, err error) {
	err = s.read.WithContext(ctx).Raw(usedIndexes, list).Scan(&out).Error
	return out, coded(err)
}
