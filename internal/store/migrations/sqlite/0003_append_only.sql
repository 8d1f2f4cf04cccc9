-- Records are evidence: nothing is overwritten and nothing is removed, not even by hand.
-- +goose Up
-- +goose StatementBegin
CREATE TRIGGER workers_keep BEFORE UPDATE ON workers BEGIN SELECT RAISE(ABORT, 'workers are only added to'); END;
CREATE TRIGGER workers_stay BEFORE DELETE ON workers BEGIN SELECT RAISE(ABORT, 'workers are never removed'); END;
CREATE TRIGGER worker_names_keep BEFORE UPDATE ON worker_names BEGIN SELECT RAISE(ABORT, 'worker_names are only added to'); END;
CREATE TRIGGER worker_names_stay BEFORE DELETE ON worker_names BEGIN SELECT RAISE(ABORT, 'worker_names are never removed'); END;
CREATE TRIGGER employments_keep BEFORE UPDATE ON employments BEGIN SELECT RAISE(ABORT, 'employments are only added to'); END;
CREATE TRIGGER employments_stay BEFORE DELETE ON employments BEGIN SELECT RAISE(ABORT, 'employments are never removed'); END;
CREATE TRIGGER gradings_keep BEFORE UPDATE ON gradings BEGIN SELECT RAISE(ABORT, 'gradings are only added to'); END;
CREATE TRIGGER gradings_stay BEFORE DELETE ON gradings BEGIN SELECT RAISE(ABORT, 'gradings are never removed'); END;
CREATE TRIGGER postings_keep BEFORE UPDATE ON postings BEGIN SELECT RAISE(ABORT, 'postings are only added to'); END;
CREATE TRIGGER postings_stay BEFORE DELETE ON postings BEGIN SELECT RAISE(ABORT, 'postings are never removed'); END;
CREATE TRIGGER unavailabilities_keep BEFORE UPDATE ON unavailabilities BEGIN SELECT RAISE(ABORT, 'unavailabilities are only added to'); END;
CREATE TRIGGER unavailabilities_stay BEFORE DELETE ON unavailabilities BEGIN SELECT RAISE(ABORT, 'unavailabilities are never removed'); END;
CREATE TRIGGER unavailability_reasons_keep BEFORE UPDATE ON unavailability_reasons BEGIN SELECT RAISE(ABORT, 'unavailability_reasons are only added to'); END;
CREATE TRIGGER unavailability_reasons_stay BEFORE DELETE ON unavailability_reasons BEGIN SELECT RAISE(ABORT, 'unavailability_reasons are never removed'); END;
CREATE TRIGGER yards_keep BEFORE UPDATE ON yards BEGIN SELECT RAISE(ABORT, 'yards are only added to'); END;
CREATE TRIGGER yards_stay BEFORE DELETE ON yards BEGIN SELECT RAISE(ABORT, 'yards are never removed'); END;
CREATE TRIGGER roads_keep BEFORE UPDATE ON roads BEGIN SELECT RAISE(ABORT, 'roads are only added to'); END;
CREATE TRIGGER roads_stay BEFORE DELETE ON roads BEGIN SELECT RAISE(ABORT, 'roads are never removed'); END;
CREATE TRIGGER crews_keep BEFORE UPDATE ON crews BEGIN SELECT RAISE(ABORT, 'crews are only added to'); END;
CREATE TRIGGER crews_stay BEFORE DELETE ON crews BEGIN SELECT RAISE(ABORT, 'crews are never removed'); END;
CREATE TRIGGER memberships_keep BEFORE UPDATE ON memberships BEGIN SELECT RAISE(ABORT, 'memberships are only added to'); END;
CREATE TRIGGER memberships_stay BEFORE DELETE ON memberships BEGIN SELECT RAISE(ABORT, 'memberships are never removed'); END;
CREATE TRIGGER families_keep BEFORE UPDATE ON families BEGIN SELECT RAISE(ABORT, 'families are only added to'); END;
CREATE TRIGGER families_stay BEFORE DELETE ON families BEGIN SELECT RAISE(ABORT, 'families are never removed'); END;
CREATE TRIGGER devices_keep BEFORE UPDATE ON devices BEGIN SELECT RAISE(ABORT, 'devices are only added to'); END;
CREATE TRIGGER devices_stay BEFORE DELETE ON devices BEGIN SELECT RAISE(ABORT, 'devices are never removed'); END;
CREATE TRIGGER kits_keep BEFORE UPDATE ON kits BEGIN SELECT RAISE(ABORT, 'kits are only added to'); END;
CREATE TRIGGER kits_stay BEFORE DELETE ON kits BEGIN SELECT RAISE(ABORT, 'kits are never removed'); END;
CREATE TRIGGER kit_placings_keep BEFORE UPDATE ON kit_placings BEGIN SELECT RAISE(ABORT, 'kit_placings are only added to'); END;
CREATE TRIGGER kit_placings_stay BEFORE DELETE ON kit_placings BEGIN SELECT RAISE(ABORT, 'kit_placings are never removed'); END;
CREATE TRIGGER inspections_keep BEFORE UPDATE ON inspections BEGIN SELECT RAISE(ABORT, 'inspections are only added to'); END;
CREATE TRIGGER inspections_stay BEFORE DELETE ON inspections BEGIN SELECT RAISE(ABORT, 'inspections are never removed'); END;
CREATE TRIGGER plans_keep BEFORE UPDATE ON plans BEGIN SELECT RAISE(ABORT, 'plans are only added to'); END;
CREATE TRIGGER plans_stay BEFORE DELETE ON plans BEGIN SELECT RAISE(ABORT, 'plans are never removed'); END;
CREATE TRIGGER adoptions_keep BEFORE UPDATE ON adoptions BEGIN SELECT RAISE(ABORT, 'adoptions are only added to'); END;
CREATE TRIGGER adoptions_stay BEFORE DELETE ON adoptions BEGIN SELECT RAISE(ABORT, 'adoptions are never removed'); END;
CREATE TRIGGER sessions_keep BEFORE UPDATE ON sessions BEGIN SELECT RAISE(ABORT, 'sessions are only added to'); END;
CREATE TRIGGER sessions_stay BEFORE DELETE ON sessions BEGIN SELECT RAISE(ABORT, 'sessions are never removed'); END;
CREATE TRIGGER bookings_keep BEFORE UPDATE ON bookings BEGIN SELECT RAISE(ABORT, 'bookings are only added to'); END;
CREATE TRIGGER bookings_stay BEFORE DELETE ON bookings BEGIN SELECT RAISE(ABORT, 'bookings are never removed'); END;
CREATE TRIGGER runs_keep BEFORE UPDATE ON runs BEGIN SELECT RAISE(ABORT, 'runs are only added to'); END;
CREATE TRIGGER runs_stay BEFORE DELETE ON runs BEGIN SELECT RAISE(ABORT, 'runs are never removed'); END;
CREATE TRIGGER run_parts_keep BEFORE UPDATE ON run_parts BEGIN SELECT RAISE(ABORT, 'run_parts are only added to'); END;
CREATE TRIGGER run_parts_stay BEFORE DELETE ON run_parts BEGIN SELECT RAISE(ABORT, 'run_parts are never removed'); END;
CREATE TRIGGER assessments_keep BEFORE UPDATE ON assessments BEGIN SELECT RAISE(ABORT, 'assessments are only added to'); END;
CREATE TRIGGER assessments_stay BEFORE DELETE ON assessments BEGIN SELECT RAISE(ABORT, 'assessments are never removed'); END;
CREATE TRIGGER authorities_keep BEFORE UPDATE ON authorities BEGIN SELECT RAISE(ABORT, 'authorities are only added to'); END;
CREATE TRIGGER authorities_stay BEFORE DELETE ON authorities BEGIN SELECT RAISE(ABORT, 'authorities are never removed'); END;
CREATE TRIGGER outside_evidences_keep BEFORE UPDATE ON outside_evidences BEGIN SELECT RAISE(ABORT, 'outside_evidences are only added to'); END;
CREATE TRIGGER outside_evidences_stay BEFORE DELETE ON outside_evidences BEGIN SELECT RAISE(ABORT, 'outside_evidences are never removed'); END;
CREATE TRIGGER suspensions_keep BEFORE UPDATE ON suspensions BEGIN SELECT RAISE(ABORT, 'suspensions are only added to'); END;
CREATE TRIGGER suspensions_stay BEFORE DELETE ON suspensions BEGIN SELECT RAISE(ABORT, 'suspensions are never removed'); END;
CREATE TRIGGER liftings_keep BEFORE UPDATE ON liftings BEGIN SELECT RAISE(ABORT, 'liftings are only added to'); END;
CREATE TRIGGER liftings_stay BEFORE DELETE ON liftings BEGIN SELECT RAISE(ABORT, 'liftings are never removed'); END;
CREATE TRIGGER extensions_keep BEFORE UPDATE ON extensions BEGIN SELECT RAISE(ABORT, 'extensions are only added to'); END;
CREATE TRIGGER extensions_stay BEFORE DELETE ON extensions BEGIN SELECT RAISE(ABORT, 'extensions are never removed'); END;
CREATE TRIGGER provisionals_keep BEFORE UPDATE ON provisionals BEGIN SELECT RAISE(ABORT, 'provisionals are only added to'); END;
CREATE TRIGGER provisionals_stay BEFORE DELETE ON provisionals BEGIN SELECT RAISE(ABORT, 'provisionals are never removed'); END;
CREATE TRIGGER rule_sets_keep BEFORE UPDATE ON rule_sets BEGIN SELECT RAISE(ABORT, 'rule_sets are only added to'); END;
CREATE TRIGGER rule_sets_stay BEFORE DELETE ON rule_sets BEGIN SELECT RAISE(ABORT, 'rule_sets are never removed'); END;
CREATE TRIGGER certificates_keep BEFORE UPDATE ON certificates BEGIN SELECT RAISE(ABORT, 'certificates are only added to'); END;
CREATE TRIGGER certificates_stay BEFORE DELETE ON certificates BEGIN SELECT RAISE(ABORT, 'certificates are never removed'); END;
CREATE TRIGGER jobs_keep BEFORE UPDATE ON jobs BEGIN SELECT RAISE(ABORT, 'jobs are only added to'); END;
CREATE TRIGGER jobs_stay BEFORE DELETE ON jobs BEGIN SELECT RAISE(ABORT, 'jobs are never removed'); END;
CREATE TRIGGER withdrawals_keep BEFORE UPDATE ON withdrawals BEGIN SELECT RAISE(ABORT, 'withdrawals are only added to'); END;
CREATE TRIGGER withdrawals_stay BEFORE DELETE ON withdrawals BEGIN SELECT RAISE(ABORT, 'withdrawals are never removed'); END;
CREATE TRIGGER accounts_keep BEFORE UPDATE ON accounts BEGIN SELECT RAISE(ABORT, 'accounts are only added to'); END;
CREATE TRIGGER accounts_stay BEFORE DELETE ON accounts BEGIN SELECT RAISE(ABORT, 'accounts are never removed'); END;
CREATE TRIGGER tokens_stay BEFORE DELETE ON tokens BEGIN SELECT RAISE(ABORT, 'tokens are never removed'); END;
CREATE TRIGGER acts_keep BEFORE UPDATE ON acts BEGIN SELECT RAISE(ABORT, 'acts are only added to'); END;
CREATE TRIGGER acts_stay BEFORE DELETE ON acts BEGIN SELECT RAISE(ABORT, 'acts are never removed'); END;
CREATE TRIGGER flags_keep BEFORE UPDATE ON flags BEGIN SELECT RAISE(ABORT, 'flags are only added to'); END;
CREATE TRIGGER flags_stay BEFORE DELETE ON flags BEGIN SELECT RAISE(ABORT, 'flags are never removed'); END;
CREATE TRIGGER clearings_keep BEFORE UPDATE ON clearings BEGIN SELECT RAISE(ABORT, 'clearings are only added to'); END;
CREATE TRIGGER clearings_stay BEFORE DELETE ON clearings BEGIN SELECT RAISE(ABORT, 'clearings are never removed'); END;
CREATE TRIGGER sweeps_keep BEFORE UPDATE ON sweeps BEGIN SELECT RAISE(ABORT, 'sweeps are only added to'); END;
CREATE TRIGGER sweeps_stay BEFORE DELETE ON sweeps BEGIN SELECT RAISE(ABORT, 'sweeps are never removed'); END;
-- A token may be revoked, once.
CREATE TRIGGER tokens_keep BEFORE UPDATE ON tokens
WHEN OLD.revoked_at IS NOT NULL OR NEW.revoked_at IS NULL
  OR (NEW.id, NEW.account_id, NEW.digest, NEW.made_at) IS NOT (OLD.id, OLD.account_id, OLD.digest, OLD.made_at)
BEGIN SELECT RAISE(ABORT, 'tokens are only revoked'); END;
-- +goose StatementEnd
