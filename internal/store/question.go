package store

import (
	"context"
	"fmt"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"

	"groundhand/internal/groundhand"
)

// JobsBetween gives the standing jobs of which some moment lies in [from, to).
func (s *Store) JobsBetween(ctx context.Context, from, to groundhand.Instant) ([]groundhand.Job, error) {
	return pick[groundhand.Job](ctx, s, "start_at < ? AND end_at > ?", to, from)
}

// SessionsBetween gives the standing sessions of which some moment lies in [from, to).
func (s *Store) SessionsBetween(ctx context.Context, from, to groundhand.Instant) ([]groundhand.Session, error) {
	return pick[groundhand.Session](ctx, s, "start_at < ? AND end_at > ?", to, from)
}

// ShiftsBetween gives the standing shifts of which some moment lies in [from, to).
func (s *Store) ShiftsBetween(ctx context.Context, from, to groundhand.Instant) ([]groundhand.Shift, error) {
	return pick[groundhand.Shift](ctx, s, "from_at < ? AND to_at > ?", to, from)
}

// LooksSince gives the standing inspections of devices and kits. Of looks at the lower controls that found nothing, which stand for one
// day, only those recorded since a moment.
func (s *Store) LooksSince(ctx context.Context, devices []groundhand.DeviceID, kits []groundhand.KitID, since groundhand.Instant) ([]groundhand.Inspection, error) {
	const wanted = "(kind <> 'DAILY_LOWER_CONTROLS' OR result <> 'IN_SERVICE' OR recorded_at >= ?)"
	return pick[groundhand.Inspection](ctx, s, "(device_id IN (SELECT value FROM json_each(?)) OR kit_id IN (SELECT value FROM json_each(?))) AND "+wanted,
		jsonKeys(devices), jsonKeys(kits), since)
}

// MembershipsOn gives the standing memberships that hold on some day from the first to the last, both included.
func (s *Store) MembershipsOn(ctx context.Context, first, last groundhand.Date) ([]groundhand.Membership, error) {
	return pick[groundhand.Membership](ctx, s, "(from_on IS NULL OR from_on <= ?) AND (to_on IS NULL OR to_on >= ?)", last, first)
}

// UnavailableBetween gives the standing times in which workers (nil: all) are not available that overlap [from, to).
func (s *Store) UnavailableBetween(ctx context.Context, workers []groundhand.WorkerID, from, to groundhand.Instant) ([]groundhand.Unavailability, error) {
	return pick[groundhand.Unavailability](ctx, s, "from_at < ? AND (to_at IS NULL OR to_at > ?) AND "+ofWorkers, to, from, workers == nil, jsonKeys(s.SamePerson(workers...)))
}

// ofWorkers takes two arguments: whether all are meant, and the keys of those who are.
const ofWorkers = "(? OR worker_id IN (SELECT value FROM json_each(?)))"

// NamesOn gives the names that workers (nil: all) bear on a day: of each the latest that began by then. A worker whose first name
// begins later is not in the answer.
func (s *Store) NamesOn(ctx context.Context, workers []groundhand.WorkerID, on groundhand.Date) (map[groundhand.WorkerID]string, error) {
	names, err := pick[groundhand.WorkerName](ctx, s, "happened_on <= ? AND "+ofWorkers, on, workers == nil, jsonKeys(s.SamePerson(workers...)))
	since, out := map[groundhand.WorkerID]groundhand.Date{}, map[groundhand.WorkerID]string{}
	for _, n := range names { // in recorded order: of two from one day the one told last
		if n.HappenedOn >= since[n.WorkerID] {
			since[n.WorkerID], out[n.WorkerID] = n.HappenedOn, n.Name
		}
	}
	for _, w := range workers { // asked by an id that went up in another
		if name, known := out[s.Kept(w)]; known {
			out[w] = name
		}
	}
	return out, err
}

// OpenFlags gives the flags that no clearing names.
func (s *Store) OpenFlags(ctx context.Context) ([]groundhand.Flag, error) {
	return pick[groundhand.Flag](ctx, s, "NOT EXISTS (SELECT 1 FROM clearings c WHERE c.flag_id = flags.id)")
}

// OpenRotations gives the ids of the rotations that were asked for and have come to neither a plan nor a failure yet, oldest first.
func (s *Store) OpenRotations(ctx context.Context) ([]groundhand.EntryID, error) {
	var ids []groundhand.EntryID
	err := s.read.WithContext(ctx).Raw(`SELECT r.id FROM rotation_requests r WHERE NOT EXISTS (SELECT 1 FROM plans p WHERE p.request_id = r.id)
AND NOT EXISTS (SELECT 1 FROM rotation_failures f WHERE f.request_id = r.id) ORDER BY r.recorded_at, r.id`).Scan(&ids).Error
	return ids, coded(err)
}

// LastSweep gives the sweep of the latest day, and whether there was one.
func (s *Store) LastSweep(ctx context.Context) (groundhand.Sweep, bool, error) {
	sweeps, err := pick[groundhand.Sweep](ctx, s, "id = (SELECT id FROM sweeps ORDER BY day DESC, finished_at DESC, id DESC LIMIT 1)")
	if err != nil || len(sweeps) == 0 {
		return groundhand.Sweep{}, false, err
	}
	return sweeps[0], true, nil
}

// SweptDays gives the days from the first to the last, both included, that were swept, in order and each once.
func (s *Store) SweptDays(ctx context.Context, first, last groundhand.Date) ([]groundhand.Date, error) {
	var days []groundhand.Date
	err := s.read.WithContext(ctx).Raw("SELECT DISTINCT day FROM sweeps WHERE day BETWEEN ? AND ? ORDER BY day", first, last).Scan(&days).Error
	return days, coded(err)
}

// NextCertificateNumber gives the number after the last of a year, "2025-0001" and on. It must be asked for in the transaction that
// adds the certificate: then no number is left out and none given twice.
func (s *Store) NextCertificateNumber(ctx context.Context, year int) (groundhand.CertificateID, error) {
	if s.frozen == 0 || s.write == nil {
		return "", fmt.Errorf("a certificate number of %d was asked for outside a transaction", year)
	}
	var last int
	err := s.read.WithContext(ctx).Raw("SELECT coalesce(max(CAST(substr(id, 6) AS INTEGER)), 0) FROM certificates WHERE substr(id, 1, 5) = ?",
		fmt.Sprintf("%04d-", year)).Scan(&last).Error
	return groundhand.CertificateID(fmt.Sprintf("%04d-%04d", year, last+1)), coded(err)
}

// ActDone gives what an account did with a key, and whether it did.
func (s *Store) ActDone(ctx context.Context, account groundhand.AccountID, key string) (groundhand.Act, bool, error) {
	acts, err := pick[groundhand.Act](ctx, s, "account_id = ? AND key = ?", account, key)
	if err != nil || len(acts) == 0 {
		return groundhand.Act{}, false, err
	}
	return acts[0], true, nil
}

// RevokeTokens revokes the tokens of an account that are still good and says how many those were.
func (s *Store) RevokeTokens(ctx context.Context, account groundhand.AccountID) (revoked int, err error) {
	err = s.InTx(ctx, func(tx *Store) error {
		done := tx.write.WithContext(ctx).Exec("UPDATE tokens SET revoked_at = ? WHERE account_id = ? AND revoked_at IS NULL", tx.Now(), account)
		revoked = int(done.RowsAffected)
		return done.Error
	})
	return revoked, err
}

// pick gives the standing rows that meet a condition, in recorded order.
func pick[T any](ctx context.Context, s *Store, condition string, args ...any) ([]T, error) {
	t, err := tableOf[T]()
	if err != nil {
		return nil, err
	}
	return standingRows[T](ctx, s, t, func(_ *Store, query *gorm.DB) *gorm.DB { return query.Where(clause.Expr{SQL: condition, Vars: args}) })
}
