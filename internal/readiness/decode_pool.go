package readiness

// What a pool asks for where the file does not say.
const (
	usualChanges = 2
	usualFixes   = 10
)

func readPool(f form) *Pool {
	if f.missing() {
		return nil
	}
	p := &Pool{
		Target:       Ready,
		MaxChanges:   f.field("max_changes").countOr(usualChanges),
		MaxFixes:     f.field("max_fixes").countOr(usualFixes),
		Neighbours:   each(f.field("neighbours"), form.name),
		People:       each(f.field("people"), readPoolPerson),
		Crews:        each(f.field("crews"), readPoolCrew),
		Kits:         each(f.field("kits"), readPoolKit),
		Devices:      each(f.field("devices"), readPoolDevice),
		Drills:       each(f.field("drills"), readPoolDrill),
		LaterWindows: each(f.field("later_windows"), readLaterWindow),
		OtherWays:    each(f.field("other_ways"), readOtherWay),
	}
	if target := f.field("target"); !target.missing() && p.Target.UnmarshalText([]byte(target.text())) != nil {
		target.refuse("The target must be READY, CONDITIONAL, CANNOT_TELL or NOT_READY.")
	}
	return p
}

func readPlace(f form) Place {
	return Place{f.field("yard").name(), f.field("travel_minutes").count(), f.field("ready_at").instant()}
}

func readPoolPerson(f form) PoolPerson { return PoolPerson{readPerson(f), readPlace(f)} }

func readPoolCrew(f form) PoolCrew {
	crew := PoolCrew{ID: f.field("id").name()}
	if asked := f.field("question"); !asked.missing() {
		q := readQuestion(asked)
		crew.Question = &q
	}
	return crew
}

func readPoolKit(f form) PoolKit {
	k := PoolKit{ID: f.field("id").name(), Place: readPlace(f)}
	if kit := readKit(f.field("kit").needed()); kit != nil {
		k.Kit = *kit
	}
	return k
}

func readPoolDevice(f form) PoolDevice {
	d := PoolDevice{ID: f.field("id").name(), Place: readPlace(f), Kit: readKit(f.field("kit"))}
	if device := readDevice(f.field("device").needed()); device != nil {
		d.Device = *device
	}
	return d
}

func readPoolDrill(f form) PoolDrill {
	return PoolDrill{
		ID:               f.field("id").name(),
		Assessor:         f.field("assessor").name(),
		Authorised:       f.field("authorised").yesNo(),
		AssessorFreeFrom: f.field("assessor_free_from").instant(),
		AssessorFreeTo:   f.field("assessor_free_to").instant(),
		Method:           f.field("method").name(),
		Family:           f.field("family").text(),
		Role:             named[Role](f.field("role")),
		Start:            f.field("start").instant(),
		Minutes:          f.field("minutes").count(),
		Seats:            f.field("seats").count(),
		MinPeople:        f.field("min_people").count(),
		People:           each(f.field("people"), form.name),
	}
}

func readLaterWindow(f form) LaterWindow {
	return LaterWindow{f.field("id").name(), f.field("from").instant(), f.field("to").instant()}
}

func readOtherWay(f form) OtherWay {
	return OtherWay{f.field("id").name(), readJobChange(f.field("job"))}
}

// readJobChange reads the fields that are given, as they are read in a job.
func readJobChange(f form) JobChange {
	var c JobChange
	if buckets := f.field("buckets"); !buckets.missing() {
		c.Buckets = each(buckets, readBucket)
	}
	if methods := f.field("methods"); !methods.missing() {
		c.Methods = readMethods(methods)
	}
	c.Near50V = f.field("near_50v").perhaps()
	if site := f.field("site"); !site.missing() {
		s := readSite(site)
		c.Site = &s
	}
	if duties := f.field("exclusive"); !duties.missing() {
		c.Exclusive = each(duties, readDuty)
	}
	c.CallPlan = f.field("call_plan").perhaps()
	if planned := f.field("planned_aloft"); !planned.missing() {
		c.PlannedAloft = each(planned, form.name)
	}
	return c
}
