-- One table for each record of the vocabulary: columns as the struct has fields, an empty reference or moment is NULL.
-- Days are TEXT YYYY-MM-DD, moments INTEGER milliseconds, lists TEXT JSON. Checks begin with the column they speak of.
-- There is no way back down: records are not taken apart. To return to an older program, restore the copy made before.
-- +goose Up
-- People, and what changes about them with the days.
CREATE TABLE workers (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES workers (id),
  because TEXT NOT NULL,
  number TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

CREATE TABLE worker_names (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT NOT NULL CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES worker_names (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  name TEXT NOT NULL
) STRICT;

CREATE TABLE employments (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES employments (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  employer TEXT NOT NULL,
  relation TEXT NOT NULL CHECK (relation IN ('EMPLOYEE', 'RESIDENT_CONTRACTOR', 'VISITOR')),
  from_on TEXT CHECK (date(from_on) IS from_on),
  to_on TEXT CHECK (date(to_on) IS to_on),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (from_on <= to_on)
) STRICT;

CREATE TABLE gradings (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT NOT NULL CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES gradings (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  grade TEXT NOT NULL CHECK (grade IN ('QUALIFIED', 'APPRENTICE', 'GROUND', 'OFFICE')),
  year INTEGER NOT NULL CHECK (year >= 0)
) STRICT;

CREATE TABLE postings (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT NOT NULL CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES postings (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  yard_id TEXT NOT NULL REFERENCES yards (id)
) STRICT;

CREATE TABLE unavailabilities (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES unavailabilities (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  kind TEXT NOT NULL CHECK (kind IN ('LEAVE', 'SICK', 'COURSE', 'REST', 'STANDBY', 'NOT_FOR_RESCUE')),
  from_at INTEGER NOT NULL,
  to_at INTEGER,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (from_at < to_at)
) STRICT;

CREATE TABLE unavailability_reasons (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES unavailability_reasons (id),
  because TEXT NOT NULL,
  unavailability_id TEXT NOT NULL REFERENCES unavailabilities (id),
  reason TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

-- Places, crews and who belongs to them.
CREATE TABLE yards (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES yards (id),
  because TEXT NOT NULL,
  name TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

CREATE TABLE roads (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES roads (id),
  because TEXT NOT NULL,
  from_yard_id TEXT NOT NULL REFERENCES yards (id),
  to_yard_id TEXT NOT NULL REFERENCES yards (id),
  minutes INTEGER NOT NULL CHECK (minutes >= 0),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (from_yard_id <> to_yard_id)
) STRICT;

CREATE TABLE crews (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES crews (id),
  because TEXT NOT NULL,
  name TEXT NOT NULL,
  yard_id TEXT REFERENCES yards (id),
  kind TEXT NOT NULL CHECK (kind IN ('LINE', 'FAULT', 'SUBSTATION', 'RELIEF')),
  normal_size INTEGER NOT NULL CHECK (normal_size >= 0),
  families TEXT NOT NULL CHECK (json_valid(families)),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

CREATE TABLE memberships (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES memberships (id),
  because TEXT NOT NULL,
  crew_id TEXT NOT NULL REFERENCES crews (id),
  worker_id TEXT NOT NULL REFERENCES workers (id),
  part TEXT NOT NULL CHECK (part IN ('FOREMAN', 'MEMBER')),
  reason TEXT NOT NULL CHECK (reason IN ('PERMANENT', 'LOAN', 'SPLIT', 'STORM')),
  from_on TEXT CHECK (date(from_on) IS from_on),
  to_on TEXT CHECK (date(to_on) IS to_on),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (from_on <= to_on)
) STRICT;

-- Devices, kits and the looks at them.
CREATE TABLE families (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES families (id),
  because TEXT NOT NULL,
  name TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

CREATE TABLE devices (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES devices (id),
  because TEXT NOT NULL,
  family_id TEXT REFERENCES families (id),
  yard_id TEXT REFERENCES yards (id),
  type TEXT NOT NULL,
  platform_cm INTEGER NOT NULL CHECK (platform_cm >= 0),
  anchor_cm INTEGER NOT NULL CHECK (anchor_cm >= 0),
  emergency_low TEXT NOT NULL CHECK (emergency_low IN ('', 'YES', 'NO', 'UNKNOWN')),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

CREATE TABLE kits (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES kits (id),
  because TEXT NOT NULL,
  parts INTEGER NOT NULL CHECK (parts >= 0),
  rope_cm INTEGER NOT NULL CHECK (rope_cm >= 0),
  tail_cm INTEGER NOT NULL CHECK (tail_cm >= 0),
  rated_load_kg INTEGER NOT NULL CHECK (rated_load_kg >= 0),
  in_service_on TEXT CHECK (date(in_service_on) IS in_service_on),
  retires_on TEXT CHECK (date(retires_on) IS retires_on),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

CREATE TABLE kit_placings (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES kit_placings (id),
  because TEXT NOT NULL,
  kit_id TEXT NOT NULL REFERENCES kits (id),
  device_id TEXT REFERENCES devices (id),
  yard_id TEXT REFERENCES yards (id),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK ((device_id IS NULL) <> (yard_id IS NULL))
) STRICT;

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
  kind TEXT NOT NULL CHECK (kind IN ('DAILY_LOWER_CONTROLS', 'WEEKLY_OUTSIDE', 'MONTHLY_INSIDE', 'YEARLY')),
  checklist TEXT NOT NULL,
  lines TEXT NOT NULL CHECK (json_valid(lines)),
  result TEXT NOT NULL CHECK (result IN ('IN_SERVICE', 'OUT_OF_SERVICE', 'RETURNED')),
  remarks TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK ((device_id IS NULL) <> (kit_id IS NULL))
) STRICT;

-- Rotation plans, sessions and places in them.
CREATE TABLE plans (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES plans (id),
  because TEXT NOT NULL,
  problem TEXT NOT NULL,
  seed INTEGER NOT NULL,
  rounds INTEGER NOT NULL CHECK (rounds >= 0),
  result TEXT NOT NULL,
  start_on TEXT CHECK (date(start_on) IS start_on),
  end_on TEXT CHECK (date(end_on) IS end_on),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (start_on <= end_on)
) STRICT;

CREATE TABLE adoptions (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES adoptions (id),
  because TEXT NOT NULL,
  plan_id TEXT NOT NULL REFERENCES plans (id),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

CREATE TABLE sessions (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES sessions (id),
  because TEXT NOT NULL,
  yard_id TEXT REFERENCES yards (id),
  start_at INTEGER NOT NULL,
  end_at INTEGER NOT NULL,
  methods TEXT NOT NULL CHECK (json_valid(methods)),
  family_id TEXT REFERENCES families (id),
  device_id TEXT REFERENCES devices (id),
  kit_id TEXT REFERENCES kits (id),
  assessor_id TEXT REFERENCES workers (id),
  announced INTEGER NOT NULL CHECK (announced IN (0, 1)),
  seats INTEGER NOT NULL CHECK (seats >= 0),
  max_runs INTEGER NOT NULL CHECK (max_runs >= 0),
  controls TEXT NOT NULL,
  plan_id TEXT REFERENCES plans (id),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (start_at < end_at)
) STRICT;

CREATE TABLE bookings (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES bookings (id),
  because TEXT NOT NULL,
  session_id TEXT NOT NULL REFERENCES sessions (id),
  worker_id TEXT NOT NULL REFERENCES workers (id),
  renews TEXT NOT NULL CHECK (json_valid(renews)),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

-- Drills and who took which part.
CREATE TABLE runs (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES runs (id),
  because TEXT NOT NULL,
  session_id TEXT REFERENCES sessions (id),
  method TEXT NOT NULL,
  scenario TEXT NOT NULL CHECK (scenario IN ('', 'UNCONSCIOUS_IN_BUCKET', 'HANGING_OUTSIDE', 'PINNED', 'HEAT_ILLNESS', 'BUCKET_FIRE', 'OTHER')),
  family_id TEXT REFERENCES families (id),
  device_id TEXT REFERENCES devices (id),
  kit_id TEXT REFERENCES kits (id),
  announced INTEGER NOT NULL CHECK (announced IN (0, 1)),
  kit_state TEXT NOT NULL CHECK (kit_state IN ('', 'AS_FOUND', 'LAID_OUT', 'NO_KIT')),
  lowering_means TEXT NOT NULL CHECK (lowering_means IN ('', 'POWERED_LOWER_CONTROLS', 'AUXILIARY_POWER', 'HAND_PUMP', 'GRAVITY_BLEED_DOWN', 'SECOND_DEVICE', 'NOT_RECORDED')),
  height_cm INTEGER NOT NULL CHECK (height_cm >= 0),
  outreach_cm INTEGER NOT NULL CHECK (outreach_cm >= 0),
  casualty_kind TEXT NOT NULL CHECK (casualty_kind IN ('', 'MANNEQUIN', 'PERSON', 'NONE')),
  casualty_kg INTEGER NOT NULL CHECK (casualty_kg >= 0),
  work_clothes TEXT NOT NULL CHECK (work_clothes IN ('', 'YES', 'NO', 'UNKNOWN')),
  dark INTEGER NOT NULL CHECK (dark IN (0, 1)),
  weather TEXT NOT NULL,
  ground_count INTEGER NOT NULL CHECK (ground_count >= 0),
  started_by TEXT NOT NULL CHECK (started_by IN ('', 'ALARM', 'FIRST_MOVE', 'UNKNOWN')),
  marks TEXT NOT NULL CHECK (json_valid(marks)),
  complete INTEGER NOT NULL CHECK (complete IN (0, 1)),
  stopped INTEGER NOT NULL CHECK (stopped IN (0, 1)),
  theory INTEGER NOT NULL CHECK (theory IN (0, 1)),
  watched_by TEXT REFERENCES workers (id),
  remarks TEXT NOT NULL,
  steps TEXT NOT NULL CHECK (json_valid(steps)),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

CREATE TABLE run_parts (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES run_parts (id),
  because TEXT NOT NULL,
  run_id TEXT NOT NULL REFERENCES runs (id),
  worker_id TEXT NOT NULL REFERENCES workers (id),
  role TEXT NOT NULL CHECK (role IN ('', 'LEAD', 'SECOND', 'LONE', 'CALLER', 'CASUALTY', 'OBSERVER', 'TIMEKEEPER')),
  critical_fail INTEGER NOT NULL CHECK (critical_fail IN (0, 1)),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

-- Assessments and what else bears on a standing.
CREATE TABLE assessments (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES assessments (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  method TEXT NOT NULL,
  role TEXT NOT NULL CHECK (role IN ('', 'LEAD', 'SECOND', 'LONE', 'CALLER', 'CASUALTY', 'OBSERVER', 'TIMEKEEPER')),
  family_id TEXT REFERENCES families (id),
  result TEXT NOT NULL CHECK (result IN ('PASS', 'FAIL', 'NOT_COMPLETED')),
  assessor_id TEXT REFERENCES workers (id),
  run_part_id TEXT REFERENCES run_parts (id),
  theory INTEGER NOT NULL CHECK (theory IN (0, 1)),
  steps TEXT NOT NULL CHECK (json_valid(steps)),
  coaching TEXT NOT NULL,
  next_step TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

CREATE TABLE authorities (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES authorities (id),
  because TEXT NOT NULL,
  assessor_id TEXT NOT NULL REFERENCES workers (id),
  methods TEXT NOT NULL CHECK (json_valid(methods)),
  families TEXT NOT NULL CHECK (json_valid(families)),
  from_on TEXT CHECK (date(from_on) IS from_on),
  to_on TEXT CHECK (date(to_on) IS to_on),
  basis TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (from_on <= to_on)
) STRICT;

CREATE TABLE outside_evidences (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES outside_evidences (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  method TEXT NOT NULL,
  role TEXT NOT NULL CHECK (role IN ('', 'LEAD', 'SECOND', 'LONE', 'CALLER', 'CASUALTY', 'OBSERVER', 'TIMEKEEPER')),
  family_id TEXT REFERENCES families (id),
  issuer TEXT NOT NULL,
  level TEXT NOT NULL CHECK (level IN ('STATED', 'COPY_SEEN', 'ORIGINAL_SEEN', 'ISSUER_CONFIRMED', 'DEMONSTRATED_HERE')),
  checker_id TEXT REFERENCES workers (id),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

CREATE TABLE suspensions (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES suspensions (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  method TEXT NOT NULL,
  role TEXT NOT NULL CHECK (role IN ('', 'LEAD', 'SECOND', 'LONE', 'CALLER', 'CASUALTY', 'OBSERVER', 'TIMEKEEPER')),
  family_id TEXT REFERENCES families (id),
  cause TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

CREATE TABLE liftings (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES liftings (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  suspension_id TEXT NOT NULL REFERENCES suspensions (id),
  pass_id TEXT REFERENCES assessments (id),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

CREATE TABLE extensions (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES extensions (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  method TEXT NOT NULL,
  role TEXT NOT NULL CHECK (role IN ('', 'LEAD', 'SECOND', 'LONE', 'CALLER', 'CASUALTY', 'OBSERVER', 'TIMEKEEPER')),
  family_id TEXT REFERENCES families (id),
  from_on TEXT CHECK (date(from_on) IS from_on),
  to_on TEXT CHECK (date(to_on) IS to_on),
  approver_id TEXT REFERENCES workers (id),
  basis TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (from_on <= to_on)
) STRICT;

CREATE TABLE provisionals (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES provisionals (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  method TEXT NOT NULL,
  role TEXT NOT NULL CHECK (role IN ('', 'LEAD', 'SECOND', 'LONE', 'CALLER', 'CASUALTY', 'OBSERVER', 'TIMEKEEPER')),
  family_id TEXT REFERENCES families (id),
  from_on TEXT CHECK (date(from_on) IS from_on),
  to_on TEXT CHECK (date(to_on) IS to_on),
  basis TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (from_on <= to_on)
) STRICT;

-- Rules, certificates and booked work.
CREATE TABLE rule_sets (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES rule_sets (id),
  because TEXT NOT NULL,
  title TEXT NOT NULL,
  owner TEXT NOT NULL,
  is_default INTEGER NOT NULL CHECK (is_default IN (0, 1)),
  effective_from TEXT CHECK (date(effective_from) IS effective_from),
  effective_through TEXT CHECK (date(effective_through) IS effective_through),
  approved_by TEXT NOT NULL,
  body TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (effective_from <= effective_through)
) STRICT;

CREATE TABLE certificates (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES certificates (id),
  because TEXT NOT NULL,
  worker_id TEXT NOT NULL REFERENCES workers (id),
  person_name TEXT NOT NULL,
  employer TEXT NOT NULL,
  method TEXT NOT NULL,
  role TEXT NOT NULL CHECK (role IN ('', 'LEAD', 'SECOND', 'LONE', 'CALLER', 'CASUALTY', 'OBSERVER', 'TIMEKEEPER')),
  family_id TEXT REFERENCES families (id),
  evidence_id TEXT NOT NULL,
  evidence_kind TEXT NOT NULL CHECK (evidence_kind IN ('PASSED_ASSESSMENT', 'PRACTICE_RUN')),
  shown_on TEXT CHECK (date(shown_on) IS shown_on),
  assessor_name TEXT NOT NULL,
  last_good_day TEXT CHECK (date(last_good_day) IS last_good_day),
  rule_set_id TEXT REFERENCES rule_sets (id),
  issuer TEXT NOT NULL,
  check_address TEXT NOT NULL,
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL)
) STRICT;

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
  methods TEXT NOT NULL CHECK (json_valid(methods)),
  near50_v TEXT NOT NULL CHECK (near50_v IN ('', 'YES', 'NO', 'UNKNOWN')),
  site_kind TEXT NOT NULL CHECK (site_kind IN ('FIELD', 'FIXED')),
  call_plan TEXT NOT NULL CHECK (call_plan IN ('', 'YES', 'NO', 'UNKNOWN')),
  place TEXT NOT NULL,
  rule_set_id TEXT REFERENCES rule_sets (id),
  planned_aloft TEXT NOT NULL CHECK (json_valid(planned_aloft)),
  duties TEXT NOT NULL CHECK (json_valid(duties)),
  CHECK (coalesce(happened_on, happened_at) IS NOT NULL),
  CHECK (start_at < end_at)
) STRICT;

-- What no longer holds.
CREATE TABLE withdrawals (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  happened_on TEXT CHECK (date(happened_on) IS happened_on),
  happened_at INTEGER,
  recorded_at INTEGER NOT NULL,
  author_id TEXT REFERENCES workers (id),
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  came_by TEXT NOT NULL CHECK (came_by IN ('TYPED_LIVE', 'OFFLINE', 'FROM_PAPER', 'IMPORTED', 'ELSEWHERE')),
  replaces_id TEXT CHECK (replaces_id <> id) REFERENCES withdrawals (id),
  because TEXT NOT NULL,
  withdraws_id TEXT NOT NULL
) STRICT;

-- Who uses the service.
CREATE TABLE accounts (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  recorded_at INTEGER NOT NULL,
  name TEXT NOT NULL,
  capacity TEXT NOT NULL CHECK (capacity IN ('COORDINATOR', 'DISPATCHER', 'HR', 'ASSESSOR', 'INSPECTOR', 'AUDITOR', 'FOREMAN', 'WORKER', 'PROGRAM')),
  worker_id TEXT REFERENCES workers (id)
) STRICT;

CREATE TABLE tokens (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  account_id TEXT NOT NULL REFERENCES accounts (id),
  digest TEXT NOT NULL,
  made_at INTEGER NOT NULL,
  revoked_at INTEGER
) STRICT;

CREATE TABLE acts (
  key TEXT NOT NULL,
  account_id TEXT NOT NULL REFERENCES accounts (id),
  name TEXT NOT NULL,
  digest TEXT NOT NULL,
  result TEXT NOT NULL,
  done_at INTEGER NOT NULL,
  PRIMARY KEY (account_id, key)
) STRICT;

-- What the watch did.
CREATE TABLE flags (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  kind TEXT NOT NULL CHECK (kind IN ('PRACTICE_LAPSED', 'LAST_GOOD_DAY_NEAR', 'CREW_BELOW_TWO', 'NO_GROUND_COVER')),
  worker_id TEXT REFERENCES workers (id),
  crew_id TEXT REFERENCES crews (id),
  raised_on TEXT NOT NULL CHECK (date(raised_on) IS raised_on),
  raised_at INTEGER NOT NULL,
  detail TEXT NOT NULL,
  CHECK ((worker_id IS NULL) <> (crew_id IS NULL))
) STRICT;

CREATE TABLE clearings (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  flag_id TEXT NOT NULL REFERENCES flags (id),
  cleared_on TEXT NOT NULL CHECK (date(cleared_on) IS cleared_on),
  cleared_at INTEGER NOT NULL
) STRICT;

CREATE TABLE sweeps (
  id TEXT PRIMARY KEY NOT NULL CHECK (id <> ''),
  day TEXT NOT NULL CHECK (date(day) IS day),
  started_at INTEGER NOT NULL,
  finished_at INTEGER NOT NULL,
  raised INTEGER NOT NULL CHECK (raised >= 0),
  cleared INTEGER NOT NULL CHECK (cleared >= 0),
  by_hand INTEGER NOT NULL CHECK (by_hand IN (0, 1))
) STRICT;
