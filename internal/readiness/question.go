package readiness

import (
	"encoding/json"
	"time"

	"groundhand/internal/groundhand"
)

// QuestionFormat is the format of a question's file.
const QuestionFormat = "cover-question/1"

// Question is everything the verdict rests on: the facts of one job and one crew, already read from the records. Nothing is looked up.
type Question struct {
	Name   string   `json:"name"`
	Yard   string   `json:"yard"`
	Window Window   `json:"window"`
	Job    Job      `json:"job"`
	People []Person `json:"people"`
	Device *Device  `json:"device"` // nil: no device
	Kit    *Kit     `json:"kit"`    // nil: no kit. A kit nothing is known of is a Kit with everything unknown
	Rules  Rules    `json:"rules"`
	Pool   *Pool    `json:"pool,omitzero"` // where fixes may come from; nil: only who goes aloft can be changed
}

// MarshalJSON writes the cover-question/1 format.
func (q Question) MarshalJSON() ([]byte, error) {
	type plain Question
	return json.Marshal(struct {
		Format string `json:"format"`
		plain
	}{QuestionFormat, plain(q)})
}

// Window is the stretch of time asked about: From is in it, To is not. Zone decides which days count and at which instant they begin.
type Window struct {
	From, To groundhand.Instant
	Zone     *time.Location
}

// MarshalJSON writes the instants on the clock of the zone.
func (w Window) MarshalJSON() ([]byte, error) {
	return json.Marshal(map[string]string{"from": clock(w.From, w.Zone), "to": clock(w.To, w.Zone), "zone": w.Zone.String()})
}

// clock is RFC 3339 on the clock of a zone, always with the offset in figures.
func clock(at groundhand.Instant, zone *time.Location) string {
	return at.In(zone).Format("2006-01-02T15:04:05.999-07:00")
}

// Job is the work: who goes up, which methods the site allows, and what the place is like. All buckets hang on the one device asked about.
type Job struct {
	ID           string           `json:"id"`
	Buckets      []Bucket         `json:"buckets"`
	Methods      map[string]YesNo `json:"methods"`  // does the site allow it; names exactly the methods of the rules
	Near50V      YesNo            `json:"near_50v"` // near exposed parts energised at 50 V or more
	Site         Site             `json:"site"`
	Exclusive    []Duty           `json:"exclusive"`
	CallPlan     YesNo            `json:"call_plan"` // how help is called from there is written down
	PlannedAloft []string         `json:"planned_aloft,omitzero"`
}

// Bucket is a place for people aloft at the same time.
type Bucket struct {
	ID     string `json:"id"`
	People int    `json:"people"`
}

// Site is the kind of place, for the first-aid numbers.
type Site struct {
	Kind            SiteKind `json:"kind"`
	RuleText        RuleText `json:"rule_text"`
	NewHiresTrained YesNo    `json:"new_hires_trained"`      // asked of trimmers: is every new hire trained within three months
	ReachMinutes    *int     `json:"reach_minutes,omitzero"` // minutes to a trained person at a fixed site; information only
}

// SiteKind is one of the three kinds below.
type SiteKind string

// Trimmers are line-clearance tree trimmers who are not qualified employees.
const (
	Field    SiteKind = "field"
	Fixed    SiteKind = "fixed"
	Trimmers SiteKind = "trimmers"
)

// RuleText says which of the two twin texts is followed. The construction text has no trimmers' exception.
type RuleText string

// The general-industry text (29 CFR 1910.269) and the construction text (29 CFR 1926.951).
const (
	General      RuleText = "general"
	Construction RuleText = "construction"
)

// Duty is held by one person, who stays on the ground and is neither rescuer nor first aider meanwhile.
type Duty struct {
	Duty   string `json:"duty"`
	Person string `json:"person"`
}

// Person is somebody of the crew with what they may do, as spans. Why somebody is held back is not here and never asked.
type Person struct {
	ID            string       `json:"id"`
	Crew          string       `json:"crew,omitzero"`
	Grade         string       `json:"grade"`
	CanGoAloft    bool         `json:"can_go_aloft"` // not sure is false
	OperatesLower YesNo        `json:"operates_lower"`
	Capabilities  []Capability `json:"capabilities"`
	FirstAid      []FirstAid   `json:"first_aid"`
	NotForRescue  []Interval   `json:"not_for_rescue"`
	Unavailable   []Absence    `json:"unavailable"`
}

// Capability is a method in a role on a control family, good from an edge through a day. The spans come from the currency rules;
// no months are added here.
type Capability struct {
	Method  string          `json:"method"`
	Role    Role            `json:"role"`
	Family  string          `json:"family"`
	From    Edge            `json:"from"`
	Through groundhand.Date `json:"through,omitzero"` // good until 24:00 local of it
	State   State           `json:"state"`
}

// FirstAid is a span in which somebody's first aid is in date.
type FirstAid struct {
	From    Edge            `json:"from"`
	Through groundhand.Date `json:"through,omitzero"`
}

// Interval is a half-open span of time.
type Interval struct {
	From Edge               `json:"from"`
	To   groundhand.Instant `json:"to,omitzero"` // not in it; none is an open end
}

// Absence is an interval in which somebody is not there.
type Absence struct {
	Interval
	Why Why `json:"why"`
}

// Edge is where a span begins: the first instant of a local day, or an instant. One of the two is given.
type Edge struct {
	Day groundhand.Date
	At  groundhand.Instant
}

// MarshalText writes the day or the instant.
func (e Edge) MarshalText() ([]byte, error) {
	if e.Day != 0 {
		return e.Day.MarshalText()
	}
	return e.At.MarshalText()
}

// Device is the aerial device on the job, as told this morning. What is nil, empty or Unknown is not known.
type Device struct {
	ID                   string     `json:"id"`
	Family               string     `json:"family,omitzero"` // control family
	LowerControlsChecked YesNo      `json:"lower_controls_checked"`
	EmergencyLowering    YesNo      `json:"emergency_lowering"`
	AnchorHeightCM       *int       `json:"anchor_height_cm"`
	OutOfService         []Interval `json:"out_of_service"`
}

// Kit is the rescue kit, as told this morning. What is nil, a zero day or Unknown is not known. SuitsAll is the foreman's one answer for
// everybody who goes aloft: nobody's weight is stored.
type Kit struct {
	ID           string     `json:"id"`
	OnDevice     YesNo      `json:"on_device"`
	SuitsAll     YesNo      `json:"suits_all"`
	Parts        *int       `json:"parts"`
	RopeCM       *int       `json:"rope_cm"`
	TailCM       *int       `json:"tail_cm"`
	RatedLoadKG  *int       `json:"rated_load_kg"`
	DueThrough   Due        `json:"due_through"`
	UseThrough   UseThrough `json:"use_through"`
	OutOfService []Interval `json:"out_of_service"`
}

// Due holds the last good day of each inspection.
type Due struct {
	Weekly  groundhand.Date `json:"weekly,omitzero"`
	Monthly groundhand.Date `json:"monthly,omitzero"`
	Yearly  groundhand.Date `json:"yearly,omitzero"`
}

// UseThrough is the last day of use of a kit. Never says that it has no such day; otherwise a zero Day is not known.
type UseThrough struct {
	Day   groundhand.Date
	Never bool
}

// MarshalJSON writes the day, "none" for never, or null for not known.
func (u UseThrough) MarshalJSON() ([]byte, error) {
	switch {
	case u.Never:
		return []byte(`"none"`), nil
	case u.Day == 0:
		return []byte("null"), nil
	}
	return json.Marshal(u.Day)
}
