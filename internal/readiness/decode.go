package readiness

import (
	"bytes"
	"encoding/json"
	"io"
	"slices"
	"time"

	"groundhand/internal/groundhand"
)

// maxFile bounds a question's file in bytes.
const maxFile = 8 << 20

// Decode reads a cover-question/1 file and checks it as Check does. The error lists every fault, each with the path of its field.
// The question's name is given also with an error, if it could be read, so that the refusal can say which question it answers.
func Decode(file []byte) (Question, error) {
	if len(file) > maxFile {
		return Question{}, &groundhand.Error{Code: groundhand.CodeTooLarge, Message: "The question's file is larger than 8 MiB; ask about one crew at a time."}
	}
	var root any
	reader := json.NewDecoder(bytes.NewReader(file))
	reader.UseNumber()
	if err := reader.Decode(&root); err != nil {
		return Question{}, groundhand.Invalid("", "The question is not JSON: %v.", err)
	}
	if _, err := reader.Token(); err != io.EOF {
		return Question{}, groundhand.Invalid("", "Something follows the question; a file holds one question.")
	}
	var faults groundhand.Problems
	q := readQuestion(form{"", root, &faults})
	return q, withCheck(q, faults)
}

// withCheck adds the faults of content, leaving out fields whose shape was already refused.
func withCheck(q Question, faults groundhand.Problems) error {
	told := groundhand.Refusals(faults.Err())
	for _, e := range groundhand.Refusals(q.Check()) {
		if !slices.ContainsFunc(told, func(t *groundhand.Error) bool { return t.Field == e.Field }) {
			faults.Add(e.Code, e.Field, "%s", e.Message)
		}
	}
	return faults.Err()
}

func readQuestion(f form) Question {
	if f.field("format").value != QuestionFormat {
		f.field("format").refuse("The format must be " + QuestionFormat + ".")
	}
	return Question{
		Name:   f.field("name").text(),
		Yard:   f.field("yard").text(),
		Window: readWindow(f.field("window")),
		Job:    readJob(f.field("job")),
		People: each(f.field("people"), readPerson),
		Device: readDevice(f.field("device")),
		Kit:    readKit(f.field("kit")),
		Rules:  readRules(f.field("rules")),
		Pool:   readPool(f.field("pool")),
	}
}

func readWindow(f form) Window {
	w := Window{From: f.field("from").instant(), To: f.field("to").instant()}
	zone, err := time.LoadLocation(f.field("zone").name())
	if err != nil || zone == time.Local {
		f.field("zone").refuse("No time zone has this name.")
		return w
	}
	w.Zone = zone
	return w
}

func readJob(f form) Job {
	job := Job{
		ID:        f.field("id").text(),
		Buckets:   each(f.field("buckets"), readBucket),
		Methods:   readMethods(f.field("methods")),
		Near50V:   f.field("near_50v").asked(),
		Site:      readSite(f.field("site")),
		Exclusive: each(f.field("exclusive"), readDuty),
		CallPlan:  f.field("call_plan").asked(),
	}
	if planned := f.field("planned_aloft"); !planned.missing() {
		job.PlannedAloft = each(planned, form.name)
	}
	return job
}

func readMethods(f form) map[string]YesNo {
	methods := map[string]YesNo{}
	for _, name := range f.names() {
		methods[name] = f.field(name).asked()
	}
	return methods
}

func readBucket(f form) Bucket {
	return Bucket{ID: f.field("id").text(), People: f.field("people").count()}
}

func readSite(f form) Site {
	return Site{
		Kind:            named[SiteKind](f.field("kind")),
		RuleText:        named[RuleText](f.field("rule_text")),
		NewHiresTrained: f.field("new_hires_trained").yesNo(),
		ReachMinutes:    f.field("reach_minutes").number(),
	}
}

func readDuty(f form) Duty { return Duty{f.field("duty").name(), f.field("person").name()} }

func readPerson(f form) Person {
	return Person{
		ID:            f.field("id").name(),
		Crew:          f.field("crew").text(),
		Grade:         f.field("grade").text(),
		CanGoAloft:    f.field("can_go_aloft").flag(),
		OperatesLower: f.field("operates_lower").yesNo(),
		Capabilities:  each(f.field("capabilities"), readCapability),
		FirstAid:      each(f.field("first_aid"), readFirstAid),
		NotForRescue:  each(f.field("not_for_rescue"), readInterval),
		Unavailable:   each(f.field("unavailable"), readAbsence),
	}
}

func readCapability(f form) Capability {
	return Capability{
		Method:  f.field("method").name(),
		Role:    named[Role](f.field("role")),
		Family:  f.field("family").text(),
		From:    f.field("from").edge(),
		Through: f.field("through").day(),
		State:   named[State](f.field("state")),
	}
}

func readFirstAid(f form) FirstAid { return FirstAid{f.field("from").edge(), f.field("through").day()} }

func readInterval(f form) Interval { return Interval{f.field("from").edge(), f.field("to").instant()} }

func readAbsence(f form) Absence { return Absence{readInterval(f), named[Why](f.field("why"))} }

func readDevice(f form) *Device {
	if f.missing() {
		return nil
	}
	return &Device{
		ID:                   f.field("id").name(),
		Family:               f.field("family").text(),
		LowerControlsChecked: f.field("lower_controls_checked").yesNo(),
		EmergencyLowering:    f.field("emergency_lowering").yesNo(),
		AnchorHeightCM:       f.field("anchor_height_cm").number(),
		OutOfService:         each(f.field("out_of_service"), readInterval),
	}
}

func readKit(f form) *Kit {
	if f.missing() {
		return nil
	}
	due := f.field("due_through")
	return &Kit{
		ID:           f.field("id").name(),
		OnDevice:     f.field("on_device").yesNo(),
		SuitsAll:     f.field("suits_all").yesNo(),
		Parts:        f.field("parts").number(),
		RopeCM:       f.field("rope_cm").number(),
		TailCM:       f.field("tail_cm").number(),
		RatedLoadKG:  f.field("rated_load_kg").number(),
		DueThrough:   Due{due.field("weekly").day(), due.field("monthly").day(), due.field("yearly").day()},
		UseThrough:   readUseThrough(f.field("use_through")),
		OutOfService: each(f.field("out_of_service"), readInterval),
	}
}

func readUseThrough(f form) UseThrough {
	if f.value == "none" {
		return UseThrough{Never: true}
	}
	return UseThrough{Day: f.day()}
}

func readRules(f form) Rules {
	r := Rules{
		ID:           f.field("id").text(),
		Families:     each(f.field("families"), form.name),
		Methods:      each(f.field("methods"), readMethod),
		CrewRescuers: f.field("crew_rescuers").count(),
		States:       map[State]StateRule{},
		GradeLimits:  map[string][]Role{},
		FirstAid:     readNumbers(f.field("first_aid")),
	}
	if err := r.CallPlanMissing.UnmarshalText([]byte(f.field("call_plan_missing").name())); err != nil {
		f.field("call_plan_missing").refuse("This must be CONDITIONAL or NOT_READY.")
	}
	if least := f.field("least_rated_load_kg").number(); least != nil {
		r.LeastRatedLoadKG = *least
	}
	for _, state := range f.field("states").names() {
		r.States[State(state)] = readState(f.field("states").field(state))
	}
	for _, grade := range f.field("grade_limits").names() {
		r.GradeLimits[grade] = each(f.field("grade_limits").field(grade), named[Role])
	}
	return r
}

func readMethod(f form) Method {
	return Method{
		ID:          f.field("id").name(),
		Roles:       each(f.field("roles"), named[Role]),
		Rescuers:    f.field("rescuers").count(),
		Needs:       each(f.field("needs"), named[Need]),
		PerFamily:   f.field("per_family").flag(),
		Conditional: f.field("conditional").flag(),
		AimMissed:   f.field("aim_missed").text(),
	}
}

func readState(f form) StateRule {
	return StateRule{
		Counts:    named[Counts](f.field("counts")),
		Condition: f.field("condition").text(),
		NotRoles:  each(f.field("not_roles"), named[Role]),
	}
}

func readNumbers(f form) FirstAidNumbers {
	return FirstAidNumbers{
		Field:    f.field("field").count(),
		Trimmers: f.field("trimmers").count(),
		Fixed:    f.field("fixed").count(),
		Below50V: f.field("below_50v").count(),
		Ground:   f.field("ground").count(),
	}
}
