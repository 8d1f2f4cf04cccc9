package rulebook

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"groundhand/internal/groundhand"
)

// Inspections says how long each kind of look at a kit and at a device is good for. What is overdue is out of service, with the same
// force as what failed. A kind that is not named is not asked for.
type Inspections struct {
	Kit, Device map[groundhand.InspectionKind]Interval
	Citation    string // where the rule comes from
}

// Interval is how long a look is good for. One of the two is given.
type Interval struct {
	Days   int `json:"days,omitzero"`   // 1 to 400
	Months int `json:"months,omitzero"` // 1 to 60
}

// Through is the last day through which a look made on a day is good. Months clip to the end of the month.
func (i Interval) Through(made groundhand.Date) groundhand.Date {
	return made.AddDays(i.Days).AddMonths(i.Months)
}

const (
	mostIntervalDays   = 400
	mostIntervalMonths = 60
)

var (
	kitLooks    = []groundhand.InspectionKind{groundhand.WeeklyOutside, groundhand.MonthlyInside, groundhand.Yearly}
	deviceLooks = []groundhand.InspectionKind{groundhand.DeviceWeekly, groundhand.DeviceMonthly, groundhand.Yearly}
)

// usualInspections hold where a rule set says nothing: a kit is looked at outside each week, inside each month and by another person each
// year. Common practice, no source.
func usualInspections() Inspections {
	return Inspections{Kit: map[groundhand.InspectionKind]Interval{
		groundhand.WeeklyOutside: {Days: 7}, groundhand.MonthlyInside: {Months: 1}, groundhand.Yearly: {Months: 12}}, Citation: "common practice, no source"}
}

func readInspections(p *groundhand.Problems, raw json.RawMessage) Inspections {
	if len(raw) == 0 {
		return usualInspections()
	}
	var given struct {
		Kit    map[groundhand.InspectionKind]Interval `json:"kit"`
		Device map[groundhand.InspectionKind]Interval `json:"device"`

		Citation string `json:"citation"`
	}
	if err := strict(raw, &given); err != nil {
		p.Add(groundhand.CodeInvalid, "inspections", "The inspections are not readable: %s.", err)
		return Inspections{}
	}
	checkIntervals(p, "inspections.kit", given.Kit, kitLooks)
	checkIntervals(p, "inspections.device", given.Device, deviceLooks)
	for _, kind := range kitLooks {
		if _, named := given.Kit[kind]; !named {
			p.Add(groundhand.CodeInvalid, fmt.Sprintf("inspections.kit.%s", kind), "Say how long this look at a kit is good for; every kit has its weekly, monthly and yearly look.")
		}
	}
	if given.Citation == "" || len(given.Citation) > longestText {
		p.Add(groundhand.CodeInvalid, "inspections.citation", "Say where the rule comes from, in at most %d bytes.", longestText)
	}
	return Inspections{given.Kit, given.Device, given.Citation}
}

func checkIntervals(p *groundhand.Problems, at string, given map[groundhand.InspectionKind]Interval, kinds []groundhand.InspectionKind) {
	for _, kind := range slices.Sorted(maps.Keys(given)) {
		field, i := at+"."+string(kind), given[kind]
		oneOf(p, field, kind, kinds)
		switch {
		case (i.Days == 0) == (i.Months == 0):
			p.Add(groundhand.CodeInvalid, field, "Give either days or months.")
		case i.Days != 0:
			between(p, field+".days", i.Days, 1, mostIntervalDays)
		default:
			between(p, field+".months", i.Months, 1, mostIntervalMonths)
		}
	}
}
