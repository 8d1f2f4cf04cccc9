-- What decides whether a crew may be sent: kit and device looks with their own clocks, briefings, shifts, answers given and decisions.
-- +goose Up

-- The words of a CHECK cannot be changed, so the table is written anew.
CREATE TABLE old_inspections AS SELECT * FROM inspections;
DROP TABLE inspections;
CREATE TABLE inspections (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES inspections (id),
  because TEXT NOT NULL,
  device_id TEXT REFERENCES devices (id),
  kit_id TEXT REFERENCES kits (id),
  kind TEXT NOT NULL CHECK (kind IN ('DAILY_LOWER_CONTROLS', 'WEEKLY_OUTSIDE', 'MONTHLY_INSIDE', 'YEARLY', 'DEVICE_WEEKLY', 'DEVICE_MONTHLY')),
  checklist TEXT NOT NULL,
  lines TEXT NOT NULL CHECK (json_valid(lines)),
  result TEXT NOT NULL CHECK (result IN ('IN_SERVICE', 'OUT_OF_SERVICE', 'RETURNED')),
  remarks TEXT NOT NULL,
  lowering_seconds INTEGER NOT NULL DEFAULT 0 CHECK (lowering_seconds >= 0),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK ((device_id IS NULL) <> (kit_id IS NULL))
) STRICT;
INSERT INTO inspections (id, happened_on, happened_at, recorded_at, author_id, capacity, came_by, replaces_id, because, device_id, kit_id, kind, checklist, lines, result, remarks) SELECT id, happened_on, happened_at, recorded_at, author_id, capacity, came_by, replaces_id, because, device_id, kit_id, kind, checklist, lines, result, remarks FROM old_inspections;
DROP TABLE old_inspections;
CREATE INDEX inspections_by_device ON inspections (device_id) WHERE device_id IS NOT NULL;
CREATE INDEX inspections_by_kit ON inspections (kit_id) WHERE kit_id IS NOT NULL;
CREATE INDEX inspections_by_replaced ON inspections (replaces_id, id) WHERE replaces_id IS NOT NULL;
-- +goose StatementBegin
CREATE TRIGGER inspections_keep BEFORE UPDATE ON inspections BEGIN SELECT RAISE(ABORT, 'inspections are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER inspections_stay BEFORE DELETE ON inspections BEGIN SELECT RAISE(ABORT, 'inspections are never removed'); END;
-- +goose StatementEnd

-- The words of a CHECK cannot be changed, so the table is written anew.
CREATE TABLE old_jobs AS SELECT * FROM jobs;
DROP TABLE jobs;
CREATE TABLE jobs (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES jobs (id),
  because TEXT NOT NULL,
  crew_id TEXT NOT NULL REFERENCES crews (id),
  yard_id TEXT REFERENCES yards (id),
  start_at INTEGER NOT NULL,
  end_at INTEGER NOT NULL,
  device_id TEXT REFERENCES devices (id),
  kit_id TEXT REFERENCES kits (id),
  aloft INTEGER NOT NULL CHECK (aloft >= 0),
  buckets TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(buckets)),
  methods TEXT NOT NULL CHECK (json_valid(methods)),
  near50_v TEXT NOT NULL CHECK (near50_v IN ('', 'YES', 'NO', 'UNKNOWN')),
  site_kind TEXT NOT NULL CHECK (site_kind IN ('FIELD', 'FIXED', 'TRIMMERS')),
  rule_text TEXT NOT NULL DEFAULT '' CHECK (rule_text IN ('', 'GENERAL', 'CONSTRUCTION')),
  hires_trained TEXT NOT NULL DEFAULT '' CHECK (hires_trained IN ('', 'YES', 'NO', 'UNKNOWN')),
  call_plan TEXT NOT NULL CHECK (call_plan IN ('', 'YES', 'NO', 'UNKNOWN')),
  place TEXT NOT NULL,
  rule_set_id TEXT REFERENCES rule_sets (id),
  planned_aloft TEXT NOT NULL CHECK (json_valid(planned_aloft)),
  duties TEXT NOT NULL CHECK (json_valid(duties)),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (start_at < end_at)
) STRICT;
INSERT INTO jobs (id, happened_on, happened_at, recorded_at, author_id, capacity, came_by, replaces_id, because, crew_id, yard_id, start_at, end_at, device_id, kit_id, aloft, methods, near50_v, site_kind, call_plan, place, rule_set_id, planned_aloft, duties) SELECT id, happened_on, happened_at, recorded_at, author_id, capacity, came_by, replaces_id, because, crew_id, yard_id, start_at, end_at, device_id, kit_id, aloft, methods, near50_v, site_kind, call_plan, place, rule_set_id, planned_aloft, duties FROM old_jobs;
DROP TABLE old_jobs;
CREATE INDEX jobs_by_crew ON jobs (crew_id);
CREATE INDEX jobs_by_yard ON jobs (yard_id) WHERE yard_id IS NOT NULL;
CREATE INDEX jobs_by_device ON jobs (device_id) WHERE device_id IS NOT NULL;
CREATE INDEX jobs_by_kit ON jobs (kit_id) WHERE kit_id IS NOT NULL;
CREATE INDEX jobs_by_replaced ON jobs (replaces_id, id) WHERE replaces_id IS NOT NULL;
CREATE INDEX jobs_by_start ON jobs (start_at);
-- +goose StatementBegin
CREATE TRIGGER jobs_keep BEFORE UPDATE ON jobs BEGIN SELECT RAISE(ABORT, 'jobs are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER jobs_stay BEFORE DELETE ON jobs BEGIN SELECT RAISE(ABORT, 'jobs are never removed'); END;
-- +goose StatementEnd

ALTER TABLE memberships ADD COLUMN from_at INTEGER;
ALTER TABLE memberships ADD COLUMN to_at INTEGER CHECK (from_at <= to_at);

CREATE TABLE classings (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES classings (id),
  because TEXT NOT NULL,
  device_id TEXT NOT NULL REFERENCES devices (id),
  family_id TEXT REFERENCES families (id),
  anchor_cm INTEGER NOT NULL CHECK (anchor_cm >= 0),
  emergency_low TEXT NOT NULL CHECK (emergency_low IN ('', 'YES', 'NO', 'UNKNOWN')),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE TABLE defects (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES defects (id),
  because TEXT NOT NULL,
  device_id TEXT REFERENCES devices (id),
  kit_id TEXT REFERENCES kits (id),
  cause TEXT NOT NULL CHECK (cause IN ('DEFECT_FOUND', 'REAL_USE', 'SHOCK_LOAD', 'ARC_OR_FLAME', 'CHEMICALS', 'DROPPED', 'IMMERSED', 'HISTORY_UNKNOWN', 'WORKSHOP', 'RETIRED')),
  separated INTEGER NOT NULL CHECK (separated IN (0, 1)),
  remarks TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK ((device_id IS NULL) <> (kit_id IS NULL))
) STRICT;
CREATE TABLE briefings (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES briefings (id),
  because TEXT NOT NULL,
  job_id TEXT NOT NULL REFERENCES jobs (id),
  kit_on_device TEXT NOT NULL CHECK (kit_on_device IN ('', 'YES', 'NO', 'UNKNOWN')),
  kit_suits TEXT NOT NULL CHECK (kit_suits IN ('', 'YES', 'NO', 'UNKNOWN')),
  aloft TEXT NOT NULL CHECK (json_valid(aloft)),
  remarks TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE TABLE shifts (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES shifts (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  yard_id TEXT NOT NULL REFERENCES yards (id),
  from_at INTEGER NOT NULL,
  to_at INTEGER NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (from_at < to_at)
) STRICT;
CREATE TABLE replies (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES replies (id),
  because TEXT NOT NULL,
  crew_id TEXT REFERENCES crews (id),
  job_id TEXT REFERENCES jobs (id),
  rule_set_id TEXT NOT NULL REFERENCES rule_sets (id),
  verdict TEXT NOT NULL CHECK (verdict IN ('READY', 'CONDITIONAL', 'NOT_READY', 'CANNOT_TELL')),
  question TEXT NOT NULL CHECK (json_valid(question)),
  answer TEXT NOT NULL CHECK (json_valid(answer)),
  looks TEXT NOT NULL CHECK (json_valid(looks)),
  rests_on TEXT NOT NULL CHECK (json_valid(rests_on)),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE TABLE decisions (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES decisions (id),
  because TEXT NOT NULL,
  reply_id TEXT NOT NULL REFERENCES replies (id),
  decided TEXT NOT NULL CHECK (decided IN ('SENT', 'SENT_CHANGED', 'SENT_WITH_CONDITIONS', 'NOT_SENT')),
  remarks TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE INDEX classings_by_device ON classings (device_id);
CREATE INDEX classings_by_family ON classings (family_id) WHERE family_id IS NOT NULL;
CREATE INDEX classings_by_replaced ON classings (replaces_id, id) WHERE replaces_id IS NOT NULL;
CREATE INDEX defects_by_device ON defects (device_id) WHERE device_id IS NOT NULL;
CREATE INDEX defects_by_kit ON defects (kit_id) WHERE kit_id IS NOT NULL;
CREATE INDEX defects_by_replaced ON defects (replaces_id, id) WHERE replaces_id IS NOT NULL;
CREATE INDEX briefings_by_job ON briefings (job_id);
CREATE INDEX briefings_by_replaced ON briefings (replaces_id, id) WHERE replaces_id IS NOT NULL;
CREATE INDEX shifts_by_worker ON shifts (worker_id);
CREATE INDEX shifts_by_yard ON shifts (yard_id);
CREATE INDEX shifts_by_replaced ON shifts (replaces_id, id) WHERE replaces_id IS NOT NULL;
CREATE INDEX replies_by_crew ON replies (crew_id) WHERE crew_id IS NOT NULL;
CREATE INDEX replies_by_job ON replies (job_id) WHERE job_id IS NOT NULL;
CREATE INDEX replies_by_replaced ON replies (replaces_id, id) WHERE replaces_id IS NOT NULL;
CREATE INDEX decisions_by_reply ON decisions (reply_id);
CREATE INDEX decisions_by_replaced ON decisions (replaces_id, id) WHERE replaces_id IS NOT NULL;
CREATE INDEX shifts_by_time ON shifts (from_at, to_at);
-- +goose StatementBegin
CREATE TRIGGER classings_keep BEFORE UPDATE ON classings BEGIN SELECT RAISE(ABORT, 'classings are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER classings_stay BEFORE DELETE ON classings BEGIN SELECT RAISE(ABORT, 'classings are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER defects_keep BEFORE UPDATE ON defects BEGIN SELECT RAISE(ABORT, 'defects are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER defects_stay BEFORE DELETE ON defects BEGIN SELECT RAISE(ABORT, 'defects are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER briefings_keep BEFORE UPDATE ON briefings BEGIN SELECT RAISE(ABORT, 'briefings are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER briefings_stay BEFORE DELETE ON briefings BEGIN SELECT RAISE(ABORT, 'briefings are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER shifts_keep BEFORE UPDATE ON shifts BEGIN SELECT RAISE(ABORT, 'shifts are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER shifts_stay BEFORE DELETE ON shifts BEGIN SELECT RAISE(ABORT, 'shifts are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER replies_keep BEFORE UPDATE ON replies BEGIN SELECT RAISE(ABORT, 'replies are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER replies_stay BEFORE DELETE ON replies BEGIN SELECT RAISE(ABORT, 'replies are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER decisions_keep BEFORE UPDATE ON decisions BEGIN SELECT RAISE(ABORT, 'decisions are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER decisions_stay BEFORE DELETE ON decisions BEGIN SELECT RAISE(ABORT, 'decisions are never removed'); END;
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
UNION ALL SELECT id, 'withdrawals', recorded_at FROM withdrawals;
