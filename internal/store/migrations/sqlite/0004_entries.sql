-- Every recorded entry by its id, whatever it records: a withdrawal may name any of them.
-- +goose Up
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
UNION ALL SELECT id, 'withdrawals', recorded_at FROM withdrawals;
