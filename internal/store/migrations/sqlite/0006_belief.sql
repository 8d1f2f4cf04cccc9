-- Records that deserve belief: corrections with their kind, disputes, reviews, refused attempts, proposed rules, identity, holds, what was kept
-- of imported files, and who looked at whose record.
-- +goose Up

CREATE TABLE corrections (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES corrections (id),
  because TEXT NOT NULL,
  replaced_id TEXT NOT NULL,
  by_id TEXT NOT NULL,
  kind TEXT NOT NULL CHECK (kind IN ('CLERICAL', 'IDENTITY', 'FACTUAL', 'VALIDITY', 'WITHDRAWAL')),
  asked_by_id TEXT REFERENCES workers (id),
  agreed_by_id TEXT REFERENCES workers (id),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (replaced_id <> by_id)
) STRICT;
CREATE INDEX corrections_by_corrected ON corrections (replaced_id);
CREATE INDEX corrections_by_by ON corrections (by_id);
CREATE INDEX corrections_by_replaced ON corrections (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE disputes (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES disputes (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  entry_id TEXT NOT NULL,
  claim TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE INDEX disputes_by_worker ON disputes (worker_id);
CREATE INDEX disputes_by_entry ON disputes (entry_id);
CREATE INDEX disputes_by_replaced ON disputes (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE rulings (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES rulings (id),
  because TEXT NOT NULL,
  dispute_id TEXT NOT NULL REFERENCES disputes (id),
  outcome TEXT NOT NULL CHECK (outcome IN ('UPHELD', 'NOT_UPHELD')),
  reason TEXT NOT NULL,
  put_right_by_id TEXT,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE INDEX rulings_by_dispute ON rulings (dispute_id);
CREATE INDEX rulings_by_replaced ON rulings (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE refused_attempts (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES refused_attempts (id),
  because TEXT NOT NULL,
  act TEXT NOT NULL,
  rule TEXT NOT NULL CHECK (rule IN ('SELF_ASSESSMENT', 'OWN_EXTENSION', 'OWN_AUTHORITY', 'OWN_SUSPENSION', 'OWN_EVIDENCE', 'OWN_DISPUTE', 'OWN_PROPOSAL', 'OWN_FINDING', 'OWN_RETURN', 'OTHER_NAME', 'NO_AUTHORITY', 'NOT_CURRENT', 'NOT_ASSESSOR', 'RECIPROCAL')),
  worker_id TEXT REFERENCES workers (id),
  message TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE INDEX refused_attempts_by_worker ON refused_attempts (worker_id) WHERE worker_id IS NOT NULL;
CREATE INDEX refused_attempts_by_replaced ON refused_attempts (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE assessor_findings (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES assessor_findings (id),
  because TEXT NOT NULL,
  assessor_id TEXT NOT NULL REFERENCES workers (id),
  from_on TEXT NOT NULL CHECK (date(from_on) IS from_on),
  to_on TEXT NOT NULL CHECK (date(to_on) IS to_on),
  reason TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (from_on <= to_on)
) STRICT;
CREATE INDEX assessor_findings_by_assessor ON assessor_findings (assessor_id);
CREATE INDEX assessor_findings_by_replaced ON assessor_findings (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE reviews (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES reviews (id),
  because TEXT NOT NULL,
  entry_id TEXT NOT NULL,
  cause TEXT NOT NULL CHECK (cause IN ('ASSESSOR_FOUND_INVALID', 'RESTED_ON_CORRECTED', 'ANSWER_RESTED_ON_CORRECTED', 'DISPUTED', 'IMPLAUSIBLE')),
  cause_id TEXT NOT NULL,
  worker_id TEXT REFERENCES workers (id),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE INDEX reviews_by_entry ON reviews (entry_id);
CREATE INDEX reviews_by_cause ON reviews (cause_id);
CREATE INDEX reviews_by_worker ON reviews (worker_id) WHERE worker_id IS NOT NULL;
CREATE INDEX reviews_by_replaced ON reviews (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE review_closings (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES review_closings (id),
  because TEXT NOT NULL,
  review_id TEXT NOT NULL REFERENCES reviews (id),
  outcome TEXT NOT NULL CHECK (outcome IN ('STANDS', 'RUN_AGAIN', 'WITHDRAWN', 'REPLACED')),
  reason TEXT NOT NULL,
  new_entry_id TEXT,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE INDEX review_closings_by_review ON review_closings (review_id);
CREATE INDEX review_closings_by_replaced ON review_closings (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE rule_proposals (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES rule_proposals (id),
  because TEXT NOT NULL,
  rule_set_id TEXT NOT NULL CHECK (rule_set_id <> ''),
  title TEXT NOT NULL,
  owner TEXT NOT NULL,
  is_default INTEGER NOT NULL CHECK (is_default IN (0, 1)),
  effective_from TEXT NOT NULL CHECK (date(effective_from) IS effective_from),
  effective_through TEXT CHECK (date(effective_through) IS effective_through),
  body TEXT NOT NULL CHECK (json_valid(body)),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (effective_from <= effective_through)
) STRICT;
CREATE INDEX rule_proposals_by_replaced ON rule_proposals (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE rule_approvals (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES rule_approvals (id),
  because TEXT NOT NULL,
  proposal_id TEXT NOT NULL REFERENCES rule_proposals (id),
  rule_set_id TEXT REFERENCES rule_sets (id),
  decision TEXT NOT NULL CHECK (decision IN ('APPROVED', 'NOT_APPROVED')),
  reason TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK ((decision = 'APPROVED') = (rule_set_id IS NOT NULL))
) STRICT;
CREATE INDEX rule_approvals_by_proposal ON rule_approvals (proposal_id);
CREATE INDEX rule_approvals_by_rule_set ON rule_approvals (rule_set_id) WHERE rule_set_id IS NOT NULL;
CREATE INDEX rule_approvals_by_replaced ON rule_approvals (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE worker_numbers (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES worker_numbers (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  number TEXT NOT NULL CHECK (number <> ''),
  from_on TEXT CHECK (date(from_on) IS from_on),
  to_on TEXT CHECK (date(to_on) IS to_on),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (from_on <= to_on)
) STRICT;
CREATE INDEX worker_numbers_by_worker ON worker_numbers (worker_id);
CREATE INDEX worker_numbers_by_number ON worker_numbers (number);
CREATE INDEX worker_numbers_by_replaced ON worker_numbers (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE aliases (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES aliases (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  name TEXT NOT NULL,
  from_on TEXT CHECK (date(from_on) IS from_on),
  to_on TEXT CHECK (date(to_on) IS to_on),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (from_on <= to_on)
) STRICT;
CREATE INDEX aliases_by_worker ON aliases (worker_id);
CREATE INDEX aliases_by_replaced ON aliases (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE merges (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES merges (id),
  because TEXT NOT NULL,
  kept_id TEXT NOT NULL REFERENCES workers (id),
  gone_id TEXT NOT NULL REFERENCES workers (id),
  reason TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (kept_id <> gone_id)
) STRICT;
CREATE INDEX merges_by_kept ON merges (kept_id);
CREATE INDEX merges_by_gone ON merges (gone_id);
CREATE INDEX merges_by_replaced ON merges (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE holds (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES holds (id),
  because TEXT NOT NULL,
  worker_id TEXT REFERENCES workers (id),
  crew_id TEXT REFERENCES crews (id),
  device_id TEXT REFERENCES devices (id),
  kit_id TEXT REFERENCES kits (id),
  reason TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK ((worker_id IS NOT NULL) + (crew_id IS NOT NULL) + (device_id IS NOT NULL) + (kit_id IS NOT NULL) = 1)
) STRICT;
CREATE INDEX holds_by_worker ON holds (worker_id) WHERE worker_id IS NOT NULL;
CREATE INDEX holds_by_crew ON holds (crew_id) WHERE crew_id IS NOT NULL;
CREATE INDEX holds_by_device ON holds (device_id) WHERE device_id IS NOT NULL;
CREATE INDEX holds_by_kit ON holds (kit_id) WHERE kit_id IS NOT NULL;
CREATE INDEX holds_by_replaced ON holds (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE releases (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES releases (id),
  because TEXT NOT NULL,
  hold_id TEXT NOT NULL REFERENCES holds (id),
  reason TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE INDEX releases_by_hold ON releases (hold_id);
CREATE INDEX releases_by_replaced ON releases (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE retentions (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES retentions (id),
  because TEXT NOT NULL,
  class TEXT NOT NULL CHECK (class IN ('TRAINING', 'INSPECTIONS', 'ANSWERS', 'NOTICES')),
  after TEXT NOT NULL CHECK (after IN ('EMPLOYMENT_ENDED', 'ITEM_RETIRED', 'RECORDED')),
  months INTEGER NOT NULL CHECK (months >= 0),
  basis TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE INDEX retentions_by_replaced ON retentions (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE erasures (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES erasures (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  code TEXT NOT NULL CHECK (code <> ''),
  reason TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE INDEX erasures_by_worker ON erasures (worker_id);
CREATE INDEX erasures_by_replaced ON erasures (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE real_events (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES real_events (id),
  because TEXT NOT NULL,
  kind TEXT NOT NULL CHECK (kind IN ('REAL_RESCUE', 'NEAR_MISS', 'HURT_IN_DRILL')),
  crew_id TEXT REFERENCES crews (id),
  device_id TEXT REFERENCES devices (id),
  kit_id TEXT REFERENCES kits (id),
  what TEXT NOT NULL,
  casualty_down_seconds INTEGER NOT NULL CHECK (casualty_down_seconds >= 0),
  first_aid_seconds INTEGER NOT NULL CHECK (first_aid_seconds >= 0),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE INDEX real_events_by_crew ON real_events (crew_id) WHERE crew_id IS NOT NULL;
CREATE INDEX real_events_by_device ON real_events (device_id) WHERE device_id IS NOT NULL;
CREATE INDEX real_events_by_kit ON real_events (kit_id) WHERE kit_id IS NOT NULL;
CREATE INDEX real_events_by_replaced ON real_events (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE column_mappings (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES column_mappings (id),
  because TEXT NOT NULL,
  title TEXT NOT NULL,
  headings TEXT NOT NULL CHECK (json_valid(headings)),
  columns TEXT NOT NULL CHECK (json_valid(columns)),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE INDEX column_mappings_by_replaced ON column_mappings (replaces_id, id) WHERE replaces_id IS NOT NULL;

CREATE TABLE import_rows (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES import_rows (id),
  because TEXT NOT NULL,
  digest TEXT NOT NULL,
  file_name TEXT NOT NULL,
  sheet TEXT NOT NULL,
  row_number INTEGER NOT NULL CHECK (row_number >= 0),
  headings TEXT NOT NULL CHECK (json_valid(headings)),
  cells TEXT NOT NULL CHECK (json_valid(cells)),
  outcome TEXT NOT NULL CHECK (outcome IN ('TAKEN', 'REFUSED', 'DUPLICATE', 'LEFT_OUT')),
  problem TEXT NOT NULL,
  entry_id TEXT,
  worker_id TEXT REFERENCES workers (id),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;
CREATE INDEX import_rows_by_digest ON import_rows (digest);
CREATE INDEX import_rows_by_entry ON import_rows (entry_id) WHERE entry_id IS NOT NULL;
CREATE INDEX import_rows_by_worker ON import_rows (worker_id) WHERE worker_id IS NOT NULL;
CREATE INDEX import_rows_by_replaced ON import_rows (replaces_id, id) WHERE replaces_id IS NOT NULL;

-- Who asked for whose record; not an entry, and never corrected.
CREATE TABLE viewings (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  account_id TEXT NOT NULL REFERENCES accounts (id),
  viewed_at INTEGER NOT NULL,
  question TEXT NOT NULL,
  workers TEXT NOT NULL CHECK (json_valid(workers))
) STRICT;
CREATE INDEX viewings_by_account ON viewings (account_id);

CREATE UNIQUE INDEX rulings_once ON rulings (dispute_id) WHERE replaces_id IS NULL;
CREATE UNIQUE INDEX review_closings_once ON review_closings (review_id) WHERE replaces_id IS NULL;
CREATE UNIQUE INDEX rule_approvals_once ON rule_approvals (proposal_id) WHERE replaces_id IS NULL;
CREATE UNIQUE INDEX releases_once ON releases (hold_id) WHERE replaces_id IS NULL;

-- What is accepted on paper says who accepted it, on what evidence and on which conditions; an extension may carry conditions too.
ALTER TABLE provisionals ADD COLUMN approver_id TEXT REFERENCES workers (id);
ALTER TABLE provisionals ADD COLUMN evidence_id TEXT REFERENCES outside_evidences (id);
ALTER TABLE provisionals ADD COLUMN conditions TEXT NOT NULL DEFAULT '';
ALTER TABLE extensions ADD COLUMN conditions TEXT NOT NULL DEFAULT '';
CREATE INDEX provisionals_by_evidence ON provisionals (evidence_id) WHERE evidence_id IS NOT NULL;

-- +goose StatementBegin
CREATE TRIGGER corrections_keep BEFORE UPDATE ON corrections BEGIN SELECT RAISE(ABORT, 'corrections are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER corrections_stay BEFORE DELETE ON corrections BEGIN SELECT RAISE(ABORT, 'corrections are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER disputes_keep BEFORE UPDATE ON disputes BEGIN SELECT RAISE(ABORT, 'disputes are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER disputes_stay BEFORE DELETE ON disputes BEGIN SELECT RAISE(ABORT, 'disputes are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER rulings_keep BEFORE UPDATE ON rulings BEGIN SELECT RAISE(ABORT, 'rulings are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER rulings_stay BEFORE DELETE ON rulings BEGIN SELECT RAISE(ABORT, 'rulings are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER refused_attempts_keep BEFORE UPDATE ON refused_attempts BEGIN SELECT RAISE(ABORT, 'refused_attempts are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER refused_attempts_stay BEFORE DELETE ON refused_attempts BEGIN SELECT RAISE(ABORT, 'refused_attempts are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER assessor_findings_keep BEFORE UPDATE ON assessor_findings BEGIN SELECT RAISE(ABORT, 'assessor_findings are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER assessor_findings_stay BEFORE DELETE ON assessor_findings BEGIN SELECT RAISE(ABORT, 'assessor_findings are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER reviews_keep BEFORE UPDATE ON reviews BEGIN SELECT RAISE(ABORT, 'reviews are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER reviews_stay BEFORE DELETE ON reviews BEGIN SELECT RAISE(ABORT, 'reviews are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER review_closings_keep BEFORE UPDATE ON review_closings BEGIN SELECT RAISE(ABORT, 'review_closings are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER review_closings_stay BEFORE DELETE ON review_closings BEGIN SELECT RAISE(ABORT, 'review_closings are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER rule_proposals_keep BEFORE UPDATE ON rule_proposals BEGIN SELECT RAISE(ABORT, 'rule_proposals are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER rule_proposals_stay BEFORE DELETE ON rule_proposals BEGIN SELECT RAISE(ABORT, 'rule_proposals are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER rule_approvals_keep BEFORE UPDATE ON rule_approvals BEGIN SELECT RAISE(ABORT, 'rule_approvals are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER rule_approvals_stay BEFORE DELETE ON rule_approvals BEGIN SELECT RAISE(ABORT, 'rule_approvals are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER worker_numbers_keep BEFORE UPDATE ON worker_numbers BEGIN SELECT RAISE(ABORT, 'worker_numbers are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER worker_numbers_stay BEFORE DELETE ON worker_numbers BEGIN SELECT RAISE(ABORT, 'worker_numbers are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER aliases_keep BEFORE UPDATE ON aliases BEGIN SELECT RAISE(ABORT, 'aliases are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER aliases_stay BEFORE DELETE ON aliases BEGIN SELECT RAISE(ABORT, 'aliases are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER merges_keep BEFORE UPDATE ON merges BEGIN SELECT RAISE(ABORT, 'merges are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER merges_stay BEFORE DELETE ON merges BEGIN SELECT RAISE(ABORT, 'merges are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER holds_keep BEFORE UPDATE ON holds BEGIN SELECT RAISE(ABORT, 'holds are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER holds_stay BEFORE DELETE ON holds BEGIN SELECT RAISE(ABORT, 'holds are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER releases_keep BEFORE UPDATE ON releases BEGIN SELECT RAISE(ABORT, 'releases are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER releases_stay BEFORE DELETE ON releases BEGIN SELECT RAISE(ABORT, 'releases are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER retentions_keep BEFORE UPDATE ON retentions BEGIN SELECT RAISE(ABORT, 'retentions are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER retentions_stay BEFORE DELETE ON retentions BEGIN SELECT RAISE(ABORT, 'retentions are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER erasures_keep BEFORE UPDATE ON erasures BEGIN SELECT RAISE(ABORT, 'erasures are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER erasures_stay BEFORE DELETE ON erasures BEGIN SELECT RAISE(ABORT, 'erasures are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER real_events_keep BEFORE UPDATE ON real_events BEGIN SELECT RAISE(ABORT, 'real_events are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER real_events_stay BEFORE DELETE ON real_events BEGIN SELECT RAISE(ABORT, 'real_events are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER column_mappings_keep BEFORE UPDATE ON column_mappings BEGIN SELECT RAISE(ABORT, 'column_mappings are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER column_mappings_stay BEFORE DELETE ON column_mappings BEGIN SELECT RAISE(ABORT, 'column_mappings are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER import_rows_keep BEFORE UPDATE ON import_rows BEGIN SELECT RAISE(ABORT, 'import_rows are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER import_rows_stay BEFORE DELETE ON import_rows BEGIN SELECT RAISE(ABORT, 'import_rows are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER viewings_keep BEFORE UPDATE ON viewings BEGIN SELECT RAISE(ABORT, 'viewings are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER viewings_stay BEFORE DELETE ON viewings BEGIN SELECT RAISE(ABORT, 'viewings are never removed'); END;
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
