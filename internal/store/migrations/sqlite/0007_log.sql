-- The log of all entries: a leaf for each row of every table but tokens, the salts of what a leaf seals, and the name of the log.
-- Which bytes make a leaf is told in package ledger.
-- +goose Up
CREATE TABLE log_origin (
  origin TEXT PRIMARY KEY NOT NULL CHECK (origin <> ''),
  one INTEGER NOT NULL UNIQUE CHECK (one = 1)
) STRICT;

-- hashes: that of the leaf and of every full subtree that it completes, 32 bytes each, lowest first.
CREATE TABLE leaves (
  n INTEGER PRIMARY KEY NOT NULL CHECK (n >= 0),
  kind TEXT NOT NULL,
  entry_id TEXT NOT NULL,
  hashes BLOB NOT NULL CHECK (length(hashes) > 0 AND length(hashes) % 32 = 0)
) STRICT;
CREATE UNIQUE INDEX leaves_by_entry ON leaves (entry_id, kind);

CREATE TABLE seals (
  n INTEGER NOT NULL REFERENCES leaves (n),
  field TEXT NOT NULL,
  salt BLOB CHECK (length(salt) = 16),
  digest BLOB NOT NULL CHECK (length(digest) = 32),
  PRIMARY KEY (n, field)
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER log_origin_keep BEFORE UPDATE ON log_origin BEGIN SELECT RAISE(ABORT, 'log_origin are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER leaves_keep BEFORE UPDATE ON leaves BEGIN SELECT RAISE(ABORT, 'leaves are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER log_origin_stay BEFORE DELETE ON log_origin BEGIN SELECT RAISE(ABORT, 'log_origin are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER leaves_stay BEFORE DELETE ON leaves BEGIN SELECT RAISE(ABORT, 'leaves are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER seals_stay BEFORE DELETE ON seals BEGIN SELECT RAISE(ABORT, 'seals are never removed'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER seals_keep BEFORE UPDATE ON seals WHEN NOT (
  NEW.n IS OLD.n AND NEW.field IS OLD.field AND NEW.digest IS OLD.digest AND NEW.salt IS NULL AND OLD.salt IS NOT NULL AND EXISTS (SELECT 1 FROM erasures))
BEGIN SELECT RAISE(ABORT, 'seals are only added to'); END;
-- +goose StatementEnd

-- When a person's names are erased, the code of a standing erasure takes their place: the only change to a record that is let through. The
-- log proves everything else still, because a leaf holds no name but a digest that nobody can turn back once its salt is gone.
DROP TRIGGER workers_keep;
-- +goose StatementBegin
CREATE TRIGGER workers_keep BEFORE UPDATE ON workers WHEN NOT (
  NEW.id IS OLD.id AND NEW.happened_on IS OLD.happened_on AND NEW.happened_at IS OLD.happened_at AND NEW.recorded_at IS OLD.recorded_at AND NEW.author_id IS OLD.author_id AND NEW.capacity IS OLD.capacity AND NEW.came_by IS OLD.came_by AND NEW.replaces_id IS OLD.replaces_id AND NEW.because IS OLD.because
  AND EXISTS (SELECT 1 FROM erasures e WHERE e.worker_id = NEW.id AND NEW.number = e.code AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.withdraws_id = e.id) AND NOT EXISTS (SELECT 1 FROM erasures c WHERE c.replaces_id = e.id)))
BEGIN SELECT RAISE(ABORT, 'workers are only added to'); END;
-- +goose StatementEnd
DROP TRIGGER worker_names_keep;
-- +goose StatementBegin
CREATE TRIGGER worker_names_keep BEFORE UPDATE ON worker_names WHEN NOT (
  NEW.id IS OLD.id AND NEW.happened_on IS OLD.happened_on AND NEW.happened_at IS OLD.happened_at AND NEW.recorded_at IS OLD.recorded_at AND NEW.author_id IS OLD.author_id AND NEW.capacity IS OLD.capacity AND NEW.came_by IS OLD.came_by AND NEW.replaces_id IS OLD.replaces_id AND NEW.because IS OLD.because AND NEW.worker_id IS OLD.worker_id
  AND EXISTS (SELECT 1 FROM erasures e WHERE e.worker_id = NEW.worker_id AND NEW.name = e.code AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.withdraws_id = e.id) AND NOT EXISTS (SELECT 1 FROM erasures c WHERE c.replaces_id = e.id)))
BEGIN SELECT RAISE(ABORT, 'worker_names are only added to'); END;
-- +goose StatementEnd
DROP TRIGGER worker_numbers_keep;
-- +goose StatementBegin
CREATE TRIGGER worker_numbers_keep BEFORE UPDATE ON worker_numbers WHEN NOT (
  NEW.id IS OLD.id AND NEW.happened_on IS OLD.happened_on AND NEW.happened_at IS OLD.happened_at AND NEW.recorded_at IS OLD.recorded_at AND NEW.author_id IS OLD.author_id AND NEW.capacity IS OLD.capacity AND NEW.came_by IS OLD.came_by AND NEW.replaces_id IS OLD.replaces_id AND NEW.because IS OLD.because AND NEW.worker_id IS OLD.worker_id AND NEW.from_on IS OLD.from_on AND NEW.to_on IS OLD.to_on
  AND EXISTS (SELECT 1 FROM erasures e WHERE e.worker_id = NEW.worker_id AND NEW.number = e.code AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.withdraws_id = e.id) AND NOT EXISTS (SELECT 1 FROM erasures c WHERE c.replaces_id = e.id)))
BEGIN SELECT RAISE(ABORT, 'worker_numbers are only added to'); END;
-- +goose StatementEnd
DROP TRIGGER aliases_keep;
-- +goose StatementBegin
CREATE TRIGGER aliases_keep BEFORE UPDATE ON aliases WHEN NOT (
  NEW.id IS OLD.id AND NEW.happened_on IS OLD.happened_on AND NEW.happened_at IS OLD.happened_at AND NEW.recorded_at IS OLD.recorded_at AND NEW.author_id IS OLD.author_id AND NEW.capacity IS OLD.capacity AND NEW.came_by IS OLD.came_by AND NEW.replaces_id IS OLD.replaces_id AND NEW.because IS OLD.because AND NEW.worker_id IS OLD.worker_id AND NEW.from_on IS OLD.from_on AND NEW.to_on IS OLD.to_on
  AND EXISTS (SELECT 1 FROM erasures e WHERE e.worker_id = NEW.worker_id AND NEW.name = e.code AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.withdraws_id = e.id) AND NOT EXISTS (SELECT 1 FROM erasures c WHERE c.replaces_id = e.id)))
BEGIN SELECT RAISE(ABORT, 'aliases are only added to'); END;
-- +goose StatementEnd
DROP TRIGGER certificates_keep;
-- +goose StatementBegin
CREATE TRIGGER certificates_keep BEFORE UPDATE ON certificates WHEN NOT (
  NEW.id IS OLD.id AND NEW.happened_on IS OLD.happened_on AND NEW.happened_at IS OLD.happened_at AND NEW.recorded_at IS OLD.recorded_at AND NEW.author_id IS OLD.author_id AND NEW.capacity IS OLD.capacity AND NEW.came_by IS OLD.came_by AND NEW.replaces_id IS OLD.replaces_id AND NEW.because IS OLD.because AND NEW.worker_id IS OLD.worker_id AND NEW.employer IS OLD.employer AND NEW.method IS OLD.method AND NEW.role IS OLD.role AND NEW.family_id IS OLD.family_id AND NEW.evidence_id IS OLD.evidence_id AND NEW.evidence_kind IS OLD.evidence_kind AND NEW.shown_on IS OLD.shown_on AND NEW.last_good_day IS OLD.last_good_day AND NEW.rule_set_id IS OLD.rule_set_id AND NEW.issuer IS OLD.issuer AND NEW.check_address IS OLD.check_address
  AND (NEW.person_name IS OLD.person_name OR EXISTS (SELECT 1 FROM erasures e WHERE e.worker_id = NEW.worker_id AND NEW.person_name = e.code AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.withdraws_id = e.id) AND NOT EXISTS (SELECT 1 FROM erasures c WHERE c.replaces_id = e.id))) AND (NEW.assessor_name IS OLD.assessor_name OR EXISTS (SELECT 1 FROM erasures e WHERE NEW.assessor_name = e.code AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.withdraws_id = e.id) AND NOT EXISTS (SELECT 1 FROM erasures c WHERE c.replaces_id = e.id)))
  AND (NEW.person_name IS NOT OLD.person_name OR NEW.assessor_name IS NOT OLD.assessor_name))
BEGIN SELECT RAISE(ABORT, 'certificates are only added to'); END;
-- +goose StatementEnd
DROP TRIGGER unavailability_reasons_keep;
-- +goose StatementBegin
CREATE TRIGGER unavailability_reasons_keep BEFORE UPDATE ON unavailability_reasons WHEN NOT (
  NEW.id IS OLD.id AND NEW.happened_on IS OLD.happened_on AND NEW.happened_at IS OLD.happened_at AND NEW.recorded_at IS OLD.recorded_at AND NEW.author_id IS OLD.author_id AND NEW.capacity IS OLD.capacity AND NEW.came_by IS OLD.came_by AND NEW.replaces_id IS OLD.replaces_id AND NEW.because IS OLD.because AND NEW.unavailability_id IS OLD.unavailability_id
  AND EXISTS (SELECT 1 FROM erasures e WHERE e.worker_id = (SELECT u.worker_id FROM unavailabilities u WHERE u.id = NEW.unavailability_id) AND NEW.reason = e.code AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.withdraws_id = e.id) AND NOT EXISTS (SELECT 1 FROM erasures c WHERE c.replaces_id = e.id)))
BEGIN SELECT RAISE(ABORT, 'unavailability_reasons are only added to'); END;
-- +goose StatementEnd
DROP TRIGGER import_rows_keep;
-- +goose StatementBegin
CREATE TRIGGER import_rows_keep BEFORE UPDATE ON import_rows WHEN NOT (
  NEW.id IS OLD.id AND NEW.happened_on IS OLD.happened_on AND NEW.happened_at IS OLD.happened_at AND NEW.recorded_at IS OLD.recorded_at AND NEW.author_id IS OLD.author_id AND NEW.capacity IS OLD.capacity AND NEW.came_by IS OLD.came_by AND NEW.replaces_id IS OLD.replaces_id AND NEW.because IS OLD.because AND NEW.digest IS OLD.digest AND NEW.file_name IS OLD.file_name AND NEW.sheet IS OLD.sheet AND NEW.row_number IS OLD.row_number AND NEW.headings IS OLD.headings AND NEW.outcome IS OLD.outcome AND NEW.problem IS OLD.problem AND NEW.entry_id IS OLD.entry_id AND NEW.worker_id IS OLD.worker_id
  AND EXISTS (SELECT 1 FROM erasures e WHERE e.worker_id = NEW.worker_id AND NEW.cells = json_array(e.code) AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.withdraws_id = e.id) AND NOT EXISTS (SELECT 1 FROM erasures c WHERE c.replaces_id = e.id)))
BEGIN SELECT RAISE(ABORT, 'import_rows are only added to'); END;
-- +goose StatementEnd
