package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strings"

	"gorm.io/gorm"

	"groundhand/internal/groundhand"
)

// Field is a column that rows are found by: the reference of that name.
type Field string

// The fields. Not every type has every one.
const (
	ByID             Field = "id"
	ByWorker         Field = "worker_id"
	ByAuthor         Field = "author_id"
	ByAssessor       Field = "assessor_id"
	ByYard           Field = "yard_id"
	ByFromYard       Field = "from_yard_id"
	ByCrew           Field = "crew_id"
	ByFamily         Field = "family_id"
	ByDevice         Field = "device_id"
	ByKit            Field = "kit_id"
	BySession        Field = "session_id"
	ByRun            Field = "run_id"
	ByRunPart        Field = "run_part_id"
	ByPlan           Field = "plan_id"
	ByRequest        Field = "request_id"
	ByFollowed       Field = "follows_id"
	ByEvidence       Field = "evidence_id"
	ByFlag           Field = "flag_id"
	ByAccount        Field = "account_id"
	ByDigest         Field = "digest"
	ByNumber         Field = "number"
	ByReplaced       Field = "replaces_id"
	ByWithdrawn      Field = "withdraws_id"
	BySuspension     Field = "suspension_id"
	ByUnavailability Field = "unavailability_id"
	ByRuleSet        Field = "rule_set_id"
	ByJob            Field = "job_id"
	ByReply          Field = "reply_id"
	ByEntry          Field = "entry_id"
	ByCause          Field = "cause_id"
	ByReview         Field = "review_id"
	ByDispute        Field = "dispute_id"
	ByProposal       Field = "proposal_id"
	ByHold           Field = "hold_id"
	ByCorrected      Field = "replaced_id"
	ByCorrection     Field = "by_id"
	ByKept           Field = "kept_id"
	ByGone           Field = "gone_id"
	ByCredential     Field = "credential_id"
	ByKey            Field = "key_id"
)

// Get gives the row with an id. An id that nobody has is NotFound.
func Get[T any, K ~string](ctx context.Context, s *Store, id K) (T, error) {
	rows, err := Find[T](ctx, s, ByID, []K{id})
	if err != nil || len(rows) == 0 {
		return *new(T), errors.Join(err, missing(err, id))
	}
	return rows[0], nil
}

func missing[K ~string](err error, id K) error {
	if err != nil {
		return nil
	}
	return groundhand.NotFound("", "There is no record with the id %q.", string(id))
}

// All gives every row of a type in recorded order.
func All[T any](ctx context.Context, s *Store) ([]T, error) {
	t, err := tableOf[T]()
	if err != nil {
		return nil, err
	}
	return rowsOf[T](s, t, s.from(ctx, t).Order(t.order()))
}

// Find gives the rows whose field is one of keys, in recorded order; no keys, no rows.
func Find[T any, K ~string](ctx context.Context, s *Store, by Field, keys []K) ([]T, error) {
	if len(keys) == 0 {
		return nil, nil
	}
	t, err := tableOf[T]()
	if err != nil {
		return nil, err
	}
	among, args, err := amongKeys(s, t, by, keys)
	if err != nil {
		return nil, err
	}
	return rowsOf[T](s, t, s.from(ctx, t).Where(among, args...).Order(t.order()))
}

// PageOf says which rows to leaf through.
type PageOf struct {
	First    int    // at most so many rows
	After    string // id of the last row seen; empty: from the beginning
	By       Field  // with Keys: only rows whose field is one of them
	Keys     []string
	Standing bool // without rows that are replaced or withdrawn
}

// Page gives rows in the order of their ids, and whether more follow.
func Page[T any](ctx context.Context, s *Store, p PageOf) (rows []T, more bool, err error) {
	t, err := tableOf[T]()
	if err != nil {
		return nil, false, err
	}
	p.First = max(p.First, 0)
	err = s.InSnapshot(ctx, func(seen *Store) error {
		rows, err = seenPage[T](ctx, seen, t, p)
		return err
	})
	if len(rows) > p.First {
		return rows[:p.First], true, err
	}
	return rows, false, err
}

// seenPage reads on until there is one row more than asked for or no more are left.
func seenPage[T any](ctx context.Context, s *Store, t table, p PageOf) ([]T, error) {
	var rows []T
	for len(rows) <= p.First {
		got, err := pageRows[T](ctx, s, t, p)
		if err != nil || len(got) == 0 {
			return rows, err
		}
		p.After = t.value(reflect.ValueOf(got[len(got)-1]), "id").String()
		if p.Standing {
			if got, err = standing(ctx, s, t, got); err != nil {
				return nil, err
			}
		}
		rows = append(rows, got...)
	}
	return rows, nil
}

func pageRows[T any](ctx context.Context, s *Store, t table, p PageOf) ([]T, error) {
	query := s.from(ctx, t).Where("id > ?", p.After).Order("id").Limit(p.First + 1)
	if p.By != "" {
		among, args, err := amongKeys(s, t, p.By, p.Keys)
		if err != nil {
			return nil, err
		}
		query = query.Where(among, args...)
	}
	return rowsOf[T](s, t, query)
}

// Count counts rows whose field is one of keys, replaced and withdrawn ones included; an empty field counts all.
func Count[T any](ctx context.Context, s *Store, by Field, keys []string) (int, error) {
	t, err := tableOf[T]()
	if err != nil {
		return 0, err
	}
	query := s.withoutGone(t, s.read.WithContext(ctx).Table(t.name))
	if by != "" {
		among, args, err := amongKeys(s, t, by, keys)
		if err != nil {
			return 0, err
		}
		query = query.Where(among, args...)
	}
	var n int64
	err = query.Count(&n).Error
	return int(n), coded(err)
}

func (s *Store) from(ctx context.Context, t table) *gorm.DB {
	return s.withoutGone(t, s.read.WithContext(ctx).Table(t.name).Select(t.columns))
}

func (t table) among(by Field) (string, error) {
	if !t.has(string(by)) {
		return "", fmt.Errorf("%s are not found by %s", t.name, by)
	}
	return string(by) + " IN (SELECT value FROM json_each(?))", nil
}

// jsonKeys is a list of keys as one argument.
func jsonKeys[K ~string](keys []K) string {
	plain := make([]string, len(keys)) // plain, because identifiers may have a JSON form of their own one day
	for i, k := range keys {
		plain[i] = string(k)
	}
	b, err := json.Marshal(plain)
	if err != nil {
		panic(err) // a list of strings can always be written
	}
	return string(b)
}

// rowsOf runs a query for all columns of t and scans by hand, which takes about half the time of the mapper's own scan. Who is one person
// is named by the id kept.
func rowsOf[T any](s *Store, t table, query *gorm.DB) ([]T, error) {
	rows, err := query.Rows()
	if err != nil {
		return nil, coded(err)
	}
	defer rows.Close()
	var out []T
	var row T
	value := reflect.ValueOf(&row).Elem()
	cells, people := t.cells(value), s.persons()
	for rows.Next() {
		row = *new(T) // lists are scanned into what is there
		if err := rows.Scan(cells...); err != nil {
			return nil, fmt.Errorf("read %s: %w", t.name, err)
		}
		if len(people.kept) > 0 {
			people.asOne(t, value)
		}
		out = append(out, row)
	}
	return out, coded(rows.Err())
}

// ordered lists columns with the name of their table in front.
func (t table) ordered(alias string) string {
	return alias + "." + strings.Join(t.columns, ", "+alias+".")
}
