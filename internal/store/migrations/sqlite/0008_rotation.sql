-- Rotations that are worked out in the background: what was asked for, what came of it, and what-ifs.
-- +goose Up

CREATE TABLE rotation_requests (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES rotation_requests (id),
  because TEXT NOT NULL,
  name TEXT NOT NULL,
  problem TEXT NOT NULL,
  seed INTEGER NOT NULL,
  rounds INTEGER NOT NULL CHECK (rounds >= 0),
  left_out TEXT NOT NULL CHECK (json_valid(left_out)),
  asked TEXT NOT NULL,
  follows_id TEXT REFERENCES rotation_requests (id),
  base_plan_id TEXT REFERENCES plans (id),
  change TEXT NOT NULL,
  stagger_most INTEGER NOT NULL CHECK (stagger_most >= 0),
  stagger_days INTEGER NOT NULL CHECK (stagger_days >= 0),
  start_on TEXT CHECK (date(start_on) IS start_on),
  end_on TEXT CHECK (date(end_on) IS end_on),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (start_on <= end_on)
) STRICT;
CREATE INDEX rotation_requests_by_follows ON rotation_requests (follows_id) WHERE follows_id IS NOT NULL;
CREATE INDEX rotation_requests_by_replaced ON rotation_requests (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE rotation_failures (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES rotation_failures (id),
  because TEXT NOT NULL,
  request_id TEXT NOT NULL REFERENCES rotation_requests (id),
  cause TEXT NOT NULL CHECK (cause IN ('PINS_CLASH', 'STOPPED', 'PROBLEM_REFUSED', 'BROKE_DOWN')),
  pins TEXT NOT NULL CHECK (json_valid(pins)),
  proved INTEGER NOT NULL CHECK (proved IN (0, 1)),
  detail TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE UNIQUE INDEX rotation_failures_by_request ON rotation_failures (request_id);
CREATE INDEX rotation_failures_by_replaced ON rotation_failures (replaces_id, id) WHERE replaces_id IS NOT NULL;

-- A plan knows what it was asked for, which plan it changes, and what there would have to be besides what is recorded.
ALTER TABLE plans ADD COLUMN request_id TEXT REFERENCES rotation_requests (id);
ALTER TABLE plans ADD COLUMN base_plan_id TEXT REFERENCES plans (id);
ALTER TABLE plans ADD COLUMN change TEXT NOT NULL DEFAULT '';
ALTER TABLE plans ADD COLUMN stopped_after INTEGER NOT NULL DEFAULT 0 CHECK (stopped_after >= 0);
CREATE UNIQUE INDEX plans_by_request ON plans (request_id) WHERE request_id IS NOT NULL;

-- An adoption of some slots, and the slot of the plan that a session was booked for.
ALTER TABLE adoptions ADD COLUMN slots TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(slots));
ALTER TABLE sessions ADD COLUMN slot TEXT NOT NULL DEFAULT '';

-- +goose StatementBegin
CREATE TRIGGER rotation_requests_keep BEFORE UPDATE ON rotation_requests BEGIN SELECT RAISE(ABORT, 'rotation_requests are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER rotation_requests_stay BEFORE DELETE ON rotation_requests BEGIN SELECT RAISE(ABORT, 'rotation_requests are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER rotation_failures_keep BEFORE UPDATE ON rotation_failures BEGIN SELECT RAISE(ABORT, 'rotation_failures are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER rotation_failures_stay BEFORE DELETE ON rotation_failures BEGIN SELECT RAISE(ABORT, 'rotation_failures are never removed'); END;
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
