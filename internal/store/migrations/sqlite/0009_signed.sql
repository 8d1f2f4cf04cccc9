-- Signed certificates: the keys by which they are signed, and of each certificate what was signed and where the published list tells whether it holds.
-- +goose Up

CREATE TABLE issuer_keys (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id IS NULL) REFERENCES issuer_keys (id),
  because TEXT NOT NULL,
  issuer_id TEXT NOT NULL CHECK (issuer_id <> ''),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE INDEX issuer_keys_by_replaced ON issuer_keys (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE key_changes (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id IS NULL) REFERENCES key_changes (id),
  because TEXT NOT NULL,
  key_id TEXT NOT NULL REFERENCES issuer_keys (id),
  state TEXT NOT NULL CHECK (state IN ('ACTIVE', 'RETIRED', 'COMPROMISED')),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE UNIQUE INDEX key_changes_by_key ON key_changes (key_id, state);
CREATE INDEX key_changes_by_replaced ON key_changes (replaces_id, id) WHERE replaces_id IS NOT NULL;

-- +goose StatementBegin
CREATE TRIGGER issuer_keys_keep BEFORE UPDATE ON issuer_keys BEGIN SELECT RAISE(ABORT, 'issuer_keys are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER issuer_keys_stay BEFORE DELETE ON issuer_keys BEGIN SELECT RAISE(ABORT, 'issuer_keys are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER key_changes_keep BEFORE UPDATE ON key_changes BEGIN SELECT RAISE(ABORT, 'key_changes are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER key_changes_stay BEFORE DELETE ON key_changes BEGIN SELECT RAISE(ABORT, 'key_changes are never removed'); END;
-- +goose StatementEnd

-- A key that was retired never signs again, and one that was stolen is never good again.
-- +goose StatementBegin
CREATE TRIGGER key_changes_end BEFORE INSERT ON key_changes WHEN EXISTS (SELECT 1 FROM key_changes k WHERE k.key_id = NEW.key_id AND k.id <> NEW.id
  AND (k.state = 'COMPROMISED' OR k.state = 'RETIRED' AND NEW.state <> 'COMPROMISED'))
BEGIN SELECT RAISE(ABORT, 'the key has come to its end'); END;
-- +goose StatementEnd

-- Older certificates are not signed; the defaults say nothing in the log, so that their leaves stay what they are.
ALTER TABLE certificates ADD COLUMN credential_id TEXT NOT NULL DEFAULT '';
ALTER TABLE certificates ADD COLUMN key_id TEXT NOT NULL DEFAULT '';
ALTER TABLE certificates ADD COLUMN issuer_id TEXT NOT NULL DEFAULT '';
ALTER TABLE certificates ADD COLUMN status_list INTEGER NOT NULL DEFAULT 0 CHECK (status_list >= 0);
ALTER TABLE certificates ADD COLUMN status_index INTEGER NOT NULL DEFAULT 0 CHECK (status_index BETWEEN 0 AND 131071);
ALTER TABLE certificates ADD COLUMN signed TEXT NOT NULL DEFAULT ''
  CHECK ((signed = '') = (credential_id = '') AND (signed = '') = (key_id = '') AND (signed = '') = (issuer_id = '') AND (signed <> '' OR status_list = 0));
CREATE UNIQUE INDEX certificates_credential ON certificates (credential_id) WHERE credential_id <> '';
CREATE INDEX certificates_by_credential ON certificates (credential_id);
CREATE UNIQUE INDEX certificates_by_status ON certificates (status_list, status_index) WHERE status_list > 0;
CREATE INDEX certificates_by_key ON certificates (key_id);

-- +goose StatementBegin
CREATE TRIGGER certificates_key BEFORE INSERT ON certificates WHEN NEW.key_id <> '' AND NOT EXISTS (SELECT 1 FROM issuer_keys k WHERE k.id = NEW.key_id)
BEGIN SELECT RAISE(ABORT, 'the key of the certificate was never announced'); END;
-- +goose StatementEnd

-- Erasing a person puts the code in the place of the names on a certificate and of what was signed, which holds them, and changes nothing else.
DROP TRIGGER certificates_keep;
-- +goose StatementBegin
CREATE TRIGGER certificates_keep BEFORE UPDATE ON certificates WHEN NOT (
  NEW.id IS OLD.id AND NEW.happened_on IS OLD.happened_on AND NEW.happened_at IS OLD.happened_at AND NEW.recorded_at IS OLD.recorded_at AND NEW.author_id IS OLD.author_id AND NEW.capacity IS OLD.capacity AND NEW.came_by IS OLD.came_by AND NEW.replaces_id IS OLD.replaces_id AND NEW.because IS OLD.because AND NEW.worker_id IS OLD.worker_id AND NEW.employer IS OLD.employer AND NEW.method IS OLD.method AND NEW.role IS OLD.role AND NEW.family_id IS OLD.family_id AND NEW.evidence_id IS OLD.evidence_id AND NEW.evidence_kind IS OLD.evidence_kind AND NEW.shown_on IS OLD.shown_on AND NEW.last_good_day IS OLD.last_good_day AND NEW.rule_set_id IS OLD.rule_set_id AND NEW.issuer IS OLD.issuer AND NEW.check_address IS OLD.check_address
  AND NEW.credential_id IS OLD.credential_id AND NEW.key_id IS OLD.key_id AND NEW.issuer_id IS OLD.issuer_id AND NEW.status_list IS OLD.status_list AND NEW.status_index IS OLD.status_index
  AND (NEW.person_name IS OLD.person_name OR EXISTS (SELECT 1 FROM erasures e WHERE e.worker_id = NEW.worker_id AND NEW.person_name = e.code AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.withdraws_id = e.id) AND NOT EXISTS (SELECT 1 FROM erasures c WHERE c.replaces_id = e.id))) AND (NEW.assessor_name IS OLD.assessor_name OR EXISTS (SELECT 1 FROM erasures e WHERE NEW.assessor_name = e.code AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.withdraws_id = e.id) AND NOT EXISTS (SELECT 1 FROM erasures c WHERE c.replaces_id = e.id)))
  AND (NEW.signed IS OLD.signed OR OLD.signed <> '' AND EXISTS (SELECT 1 FROM erasures e WHERE NEW.signed = e.code AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.withdraws_id = e.id) AND NOT EXISTS (SELECT 1 FROM erasures c WHERE c.replaces_id = e.id)))
  AND (NEW.person_name IS NOT OLD.person_name OR NEW.assessor_name IS NOT OLD.assessor_name OR NEW.signed IS NOT OLD.signed))
BEGIN SELECT RAISE(ABORT, 'certificates are only added to'); END;
-- +goose StatementEnd

DROP VIEW entries;
CREATE VIEW entries (id, kind, recorded_at) AS
SELECT id, 'workers', recorded_at FROM workers
UNION ALL SELECT id, 'worker_names', recorded_at FROM worker_names
UNION ALL SELECT id, 'employments', recorded_at FROM employments
UNION ALL SELECT id, 'gradings', recorded_at FROM gradings
UNION ALL SELECT id, 'postings', recorded_at FROM postings
UNION ALL SELECT id, 'unavailabilities', recorded_at FROM unavailabilities
UNION ALL SELECT id, 'unavailability_reasons', recorded_at FROM unavailability_reasons
UNION ALL SELECT id, 'yards', recorded_at FROM yards
UNION ALL SELECT id, 'roads', recorded_at FROM roads
UNION ALL SELECT id, 'crews', recorded_at FROM crews
UNION ALL SELECT id, 'memberships', recorded_at FROM memberships
UNION ALL SELECT id, 'families', recorded_at FROM families
UNION ALL SELECT id, 'devices', recorded_at FROM devices
UNION ALL SELECT id, 'kits', recorded_at FROM kits
UNION ALL SELECT id, 'kit_placings', recorded_at FROM kit_placings
UNION ALL SELECT id, 'inspections', recorded_at FROM inspections
UNION ALL SELECT id, 'rotation_requests', recorded_at FROM rotation_requests
UNION ALL SELECT id, 'rotation_failures', recorded_at FROM rotation_failures
UNION ALL SELECT id, 'plans', recorded_at FROM plans
UNION ALL SELECT id, 'adoptions', recorded_at FROM adoptions
UNION ALL SELECT id, 'sessions', recorded_at FROM sessions
UNION ALL SELECT id, 'bookings', recorded_at FROM bookings
UNION ALL SELECT id, 'runs', recorded_at FROM runs
UNION ALL SELECT id, 'run_parts', recorded_at FROM run_parts
UNION ALL SELECT id, 'assessments', recorded_at FROM assessments
UNION ALL SELECT id, 'authorities', recorded_at FROM authorities
UNION ALL SELECT id, 'outside_evidences', recorded_at FROM outside_evidences
UNION ALL SELECT id, 'suspensions', recorded_at FROM suspensions
UNION ALL SELECT id, 'liftings', recorded_at FROM liftings
UNION ALL SELECT id, 'extensions', recorded_at FROM extensions
UNION ALL SELECT id, 'provisionals', recorded_at FROM provisionals
UNION ALL SELECT id, 'rule_sets', recorded_at FROM rule_sets
UNION ALL SELECT id, 'certificates', recorded_at FROM certificates
UNION ALL SELECT id, 'issuer_keys', recorded_at FROM issuer_keys
UNION ALL SELECT id, 'key_changes', recorded_at FROM key_changes
UNION ALL SELECT id, 'jobs', recorded_at FROM jobs
UNION ALL SELECT id, 'classings', recorded_at FROM classings
UNION ALL SELECT id, 'defects', recorded_at FROM defects
UNION ALL SELECT id, 'briefings', recorded_at FROM briefings
UNION ALL SELECT id, 'shifts', recorded_at FROM shifts
UNION ALL SELECT id, 'replies', recorded_at FROM replies
UNION ALL SELECT id, 'decisions', recorded_at FROM decisions
UNION ALL SELECT id, 'corrections', recorded_at FROM corrections
UNION ALL SELECT id, 'disputes', recorded_at FROM disputes
UNION ALL SELECT id, 'rulings', recorded_at FROM rulings
UNION ALL SELECT id, 'refused_attempts', recorded_at FROM refused_attempts
UNION ALL SELECT id, 'assessor_findings', recorded_at FROM assessor_findings
UNION ALL SELECT id, 'reviews', recorded_at FROM reviews
UNION ALL SELECT id, 'review_closings', recorded_at FROM review_closings
UNION ALL SELECT id, 'rule_proposals', recorded_at FROM rule_proposals
UNION ALL SELECT id, 'rule_approvals', recorded_at FROM rule_approvals
UNION ALL SELECT id, 'worker_numbers', recorded_at FROM worker_numbers
UNION ALL SELECT id, 'aliases', recorded_at FROM aliases
UNION ALL SELECT id, 'merges', recorded_at FROM merges
UNION ALL SELECT id, 'holds', recorded_at FROM holds
UNION ALL SELECT id, 'releases', recorded_at FROM releases
UNION ALL SELECT id, 'retentions', recorded_at FROM retentions
UNION ALL SELECT id, 'erasures', recorded_at FROM erasures
UNION ALL SELECT id, 'real_events', recorded_at FROM real_events
UNION ALL SELECT id, 'column_mappings', recorded_at FROM column_mappings
UNION ALL SELECT id, 'import_rows', recorded_at FROM import_rows
UNION ALL SELECT id, 'withdrawals', recorded_at FROM withdrawals;
