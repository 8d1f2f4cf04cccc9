package readiness

import (
	"encoding/json"
	"time"

	"groundhand/internal/groundhand"
)

// Pool is where changes may come from when the verdict is below Target, and how many at most may be made at once.
type Pool struct {
	Target       Verdict       `json:"target"` // what to reach; Ready unless said. The zero Verdict asks for nothing
	MaxChanges   int           `json:"max_changes"`
	MaxFixes     int           `json:"max_fixes"`
	Neighbours   []string      `json:"neighbours"` // yards from which somebody or something may come, beside the question's own
	People       []PoolPerson  `json:"people"`
	Crews        []PoolCrew    `json:"crews"` // every crew that People names
	Kits         []PoolKit     `json:"kits"`
	Devices      []PoolDevice  `json:"devices"`
	Drills       []PoolDrill   `json:"drills"`
	LaterWindows []LaterWindow `json:"later_windows"`
	OtherWays    []OtherWay    `json:"other_ways"`
}

// MarshalJSON writes lists that are nil as empty ones.
func (p Pool) MarshalJSON() ([]byte, error) {
	type plain Pool
	p.Neighbours, p.People, p.Crews = listed(p.Neighbours), listed(p.People), listed(p.Crews)
	p.Kits, p.Devices, p.Drills = listed(p.Kits), listed(p.Devices), listed(p.Drills)
	p.LaterWindows, p.OtherWays = listed(p.LaterWindows), listed(p.OtherWays)
	return json.Marshal(plain(p))
}

func listed[T any](list []T) []T { return append([]T{}, list...) }

// Place is where somebody or something is, and when it can be on the job.
type Place struct {
	Yard          string             `json:"yard"`
	TravelMinutes int                `json:"travel_minutes"`
	ReadyAt       groundhand.Instant `json:"ready_at,omitzero"` // none: at any time
}

// PoolPerson may join the crew. Their Crew is the one that lends them; without one nobody is asked.
type PoolPerson struct {
	Person
	Place
}

// PoolCrew is a crew that lends people, with its own question. Without a Question it has no job, and there is nothing to protect.
type PoolCrew struct {
	ID       string    `json:"id"`
	Question *Question `json:"question"`
}

// PoolKit can be put on the device, and counts as on it then.
type PoolKit struct {
	ID string `json:"id"`
	Place
	Kit Kit `json:"kit"`
}

// PoolDevice can take the place of the device. It brings its own kit; without one the job has none.
type PoolDevice struct {
	ID string `json:"id"`
	Place
	Device Device `json:"device"`
	Kit    *Kit   `json:"kit"`
}

// PoolDrill can be watched before departure. Those assessed are current in Method and Role on Family from its end.
type PoolDrill struct {
	ID               string             `json:"id"`
	Assessor         string             `json:"assessor"`
	Authorised       YesNo              `json:"authorised"` // is the assessor
	AssessorFreeFrom groundhand.Instant `json:"assessor_free_from,omitzero"`
	AssessorFreeTo   groundhand.Instant `json:"assessor_free_to,omitzero"`
	Method           string             `json:"method"`
	Family           string             `json:"family"`
	Role             Role               `json:"role"`
	Start            groundhand.Instant `json:"start"`
	Minutes          int                `json:"minutes"`
	Seats            int                `json:"seats"`
	MinPeople        int                `json:"min_people"`
	People           []string           `json:"people"` // who of the crew could take part
}

func (d *PoolDrill) end() groundhand.Instant {
	return d.Start + groundhand.Instant(d.Minutes)*60_000
}

// overlaps says that two drills run at the same time.
func (d *PoolDrill) overlaps(o *PoolDrill) bool { return d.Start < o.end() && o.Start < d.end() }

// LaterWindow is another time that the job could be done, in the question's zone.
type LaterWindow struct {
	ID   string             `json:"id"`
	From groundhand.Instant `json:"from"`
	To   groundhand.Instant `json:"to"`
}

// OtherWay is another way of doing the job.
type OtherWay struct {
	ID  string    `json:"id"`
	Job JobChange `json:"job"`
}

// JobChange holds the fields of the job that are replaced; what is nil stays as it is.
type JobChange struct {
	Buckets      []Bucket         `json:"buckets,omitzero"`
	Methods      map[string]YesNo `json:"methods,omitzero"`
	Near50V      *YesNo           `json:"near_50v,omitzero"`
	Site         *Site            `json:"site,omitzero"`
	Exclusive    []Duty           `json:"exclusive,omitzero"`
	CallPlan     *YesNo           `json:"call_plan,omitzero"`
	PlannedAloft []string         `json:"planned_aloft,omitzero"`
}

// of is the job with the fields replaced.
func (c *JobChange) of(job Job) Job {
	if c.Buckets != nil {
		job.Buckets = c.Buckets
	}
	if c.Methods != nil {
		job.Methods = c.Methods
	}
	if c.Near50V != nil {
		job.Near50V = *c.Near50V
	}
	if c.Site != nil {
		job.Site = *c.Site
	}
	if c.Exclusive != nil {
		job.Exclusive = c.Exclusive
	}
	if c.CallPlan != nil {
		job.CallPlan = *c.CallPlan
	}
	if c.PlannedAloft != nil {
		job.PlannedAloft = c.PlannedAloft
	}
	return job
}

// gives is what those assessed have in the end.
func (d *PoolDrill) gives() Capability {
	return Capability{Method: d.Method, Role: d.Role, Family: d.Family, From: Edge{At: d.end()}, Through: lastDay, State: Current}
}

// lastDay is later than any day that a file can hold.
var lastDay = groundhand.NewDate(9999, time.December, 30)
