package exchange

import "strings"

// everyday are other words that stand above such columns in spreadsheets that people keep; folded as foldEveryday does. They are common
// practice, with no source. A word that may mean two columns of a kind is settled by the values below it, or left out.
var everyday = map[string][]string{
	"number": {"STAFF_NUMBER", "STAFF_NO", "STAFF_ID", "EMPLOYEE_NUMBER", "EMPLOYEE_NO", "EMPLOYEE_ID", "EMP_NO", "EMP_ID", "WORKER_NUMBER", "WORKER_NO",
		"WORKER_ID", "PERSONNEL_NUMBER", "PERSONNEL_NO", "PAYROLL_NUMBER", "PAYROLL_NO", "PAYROLL", "BADGE", "BADGE_NO", "CLOCK_NO",
		"WORKER", "EMPLOYEE", "PERSON", "STAFF"},
	"name":        {"FULL_NAME", "WORKER_NAME", "EMPLOYEE_NAME", "STAFF_NAME", "NAMES", "WHO", "WORKER", "EMPLOYEE", "PERSON", "STAFF"},
	"employer":    {"COMPANY", "FIRM", "EMPLOYED_BY", "WORKS_FOR", "CONTRACTOR_NAME"},
	"relation":    {"EMPLOYMENT", "TYPE_OF_EMPLOYMENT", "EMPLOYMENT_TYPE", "STAFF_OR_CONTRACTOR"},
	"grade":       {"TRADE", "LEVEL", "QUALIFICATION", "CLASS", "JOB_GRADE"},
	"year":        {"APPRENTICE_YEAR", "YEAR_OF_APPRENTICESHIP", "APPRENTICESHIP_YEAR"},
	"yard":        {"DEPOT", "BASE", "HOME_YARD", "HOME_BASE", "LOCATION"},
	"from":        {"START", "START_DATE", "STARTED", "SINCE", "FROM_DATE", "DATE_FROM", "FIRST_DAY", "JOINED", "DATE_JOINED"},
	"to":          {"UNTIL", "END", "END_DATE", "TO_DATE", "DATE_TO", "LAST_DAY", "THROUGH"},
	"crew":        {"TEAM", "GANG", "CREW_NAME", "CREW_ID", "CREW_NO", "CREW_NUMBER"},
	"kind":        {"TYPE", "CREW_TYPE", "CREW_KIND", "TYPE_OF_CREW"},
	"normal size": {"SIZE", "CREW_SIZE", "HEADCOUNT"},
	"part":        {"POSITION", "POSITION_IN_CREW", "PART_IN_CREW", "CREW_ROLE"},
	"reason":      {"WHY", "REASON_FOR_MOVE"},
	"date": {"DAY", "WHEN", "ON", "DRILL_DATE", "DATE_OF_DRILL", "TEST_DATE", "DATE_OF_TEST", "ASSESSMENT_DATE", "DATE_OF_ASSESSMENT", "SESSION_DATE",
		"TRAINING_DATE", "DATE_OF_TRAINING", "DATE_DONE", "DATE_HELD", "PRACTISED_ON"},
	"method":      {"RESCUE_METHOD", "TECHNIQUE", "RESCUE", "RESCUE_TYPE", "TYPE_OF_RESCUE", "DRILL", "DRILL_TYPE", "EXERCISE"},
	"role":        {"POSITION", "TASK", "PART", "FUNCTION", "ROLE_IN_DRILL", "RESCUE_ROLE"},
	"family":      {"CONTROL_FAMILY", "CONTROLS", "CONTROL_TYPE", "MACHINE_FAMILY", "DEVICE_FAMILY"},
	"device":      {"MACHINE", "UNIT", "UNIT_NO", "UNIT_NUMBER", "TRUCK", "VEHICLE", "BUCKET", "LIFT", "PLATFORM", "DEVICE_ID"},
	"session":     {"SESSION_ID", "SESSION_NO", "COURSE"},
	"run":         {"RUN_NO", "RUN_NUMBER", "RUN_REF", "ATTEMPT"},
	"complete":    {"COMPLETED", "FINISHED", "DONE", "CARRIED_THROUGH"},
	"watched by":  {"WATCHED", "OBSERVER", "OBSERVED_BY", "WITNESS", "WITNESSED_BY", "SEEN_BY"},
	"result":      {"OUTCOME", "PASS_FAIL", "PASSED", "PASS_OR_FAIL", "TEST_RESULT"},
	"assessor":    {"ASSESSED_BY", "ASSESSOR_NO", "ASSESSOR_NUMBER", "ASSESSOR_ID", "EXAMINER", "TESTER", "TESTED_BY", "SIGNED_BY", "SIGNED_OFF_BY"},
	"failed step": {"FAILED", "FAILED_ON", "STEP_FAILED", "FAILED_AT", "FAILING_STEP"},
}

// foldEveryday folds a heading as people write it: signs between words fall away too, and # is a number.
func foldEveryday(heading string) string {
	signs := strings.NewReplacer("#", " no ", ".", " ", ":", " ", "/", " ", "(", " ", ")", " ", "?", " ", ",", " ", "'", "")
	return fold(signs.Replace(heading))
}
