package rollcall

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// Caution stands beside every verdict and every change that is offered, wherever a person reads it.
const Caution = "This rests on the records and on looks of the day. Look at the kit and at the lower controls on the device, hold the job briefing, " +
	"and ask again whenever people or trucks change. Local rules, the maker's instructions and licensed practice come first. It does not say that a law is met."

// NameOf gives the name by which a person is called from an id.
type NameOf func(id string) string

// RungWords says what a rung of changes is. What disturbs less stands first.
func RungWords(rung int) string {
	return map[int]string{
		readiness.RungAloft:     "change who goes aloft",
		readiness.RungEquipment: "another kit or device of this yard",
		readiness.RungDrill:     "a watched drill before departure",
		readiness.RungPerson:    "one more person of this yard",
		readiness.RungNeighbour: "from a neighbouring yard",
		readiness.RungLater:     "a later start",
		readiness.RungOtherWay:  "another way of doing the work",
		readiness.RungDoNotSend: "do not send",
	}[rung]
}

// Steps lists the changes of a fix as they are made: a device first, because a kit is then put on it.
func Steps(f readiness.Fix) []readiness.FixChange {
	out := slices.Clone(f.Changes)
	slices.SortStableFunc(out, func(x, y readiness.FixChange) int {
		return cmp.Compare(later(x.Do == readiness.DoDevice), later(y.Do == readiness.DoDevice))
	})
	return out
}

func later(first bool) int {
	if first {
		return 0
	}
	return 1
}

// StepWords says what is done in one change of a fix: a device does not keep its kit where the fix brings another.
func (a CoverAnswer) StepWords(f readiness.Fix, c readiness.FixChange, name NameOf) string {
	if c.Do == readiness.DoDevice && slices.ContainsFunc(f.Changes, func(o readiness.FixChange) bool { return o.Do == readiness.DoKit }) {
		return "take device " + c.ID
	}
	return a.ChangeWords(c, name)
}

// ChangeWords says what is done in one change of a fix.
func (a CoverAnswer) ChangeWords(c readiness.FixChange, name NameOf) string {
	switch c.Do {
	case readiness.DoAloft:
		return named(c.People, name) + " aloft, and nobody else"
	case readiness.DoKit:
		return "put kit " + c.ID + " on the device"
	case readiness.DoDevice:
		return "take device " + c.ID + ", with the kit that rides on it"
	case readiness.DoDrill:
		return a.drillWords(c, name)
	case readiness.DoPerson:
		return name(c.ID) + " joins"
	case readiness.DoLater:
		return "start at " + c.ID
	case readiness.DoOtherWay:
		return "do the work otherwise: " + c.ID
	}
	return RungWords(readiness.RungDoNotSend)
}

func (a CoverAnswer) drillWords(c readiness.FixChange, name NameOf) string {
	if a.Question.Pool != nil {
		for _, d := range a.Question.Pool.Drills {
			if d.ID == c.ID {
				return fmt.Sprintf("watched drill at %s (%s, %s), %d minutes with %s%s", d.Start.In(a.Question.Window.Zone).Format("15:04"), MethodWords(d.Method),
					d.Family, d.Minutes, name(d.Assessor), forWhom(c.People, name))
			}
		}
	}
	return RungWords(readiness.RungDrill) + ": " + named(c.People, name)
}

// UnlockWords says what one change among the crews of a storm is.
func UnlockWords(u Unlock, name NameOf) string {
	switch u.Do {
	case readiness.DoKit:
		return fmt.Sprintf("put kit %s on device %s", u.KitID, u.DeviceID)
	case readiness.DoPerson:
		return fmt.Sprintf("%s joins crew %s, lent by %s", name(string(u.WorkerID)), u.CrewID, u.LenderID)
	}
	people := make([]string, len(u.People))
	for i, who := range u.People {
		people[i] = string(who)
	}
	return fmt.Sprintf("drill %s on control family %s, watched by %s: %s", MethodWords(string(u.Method)), u.FamilyID, name(string(u.AssessorID)), named(people, name))
}

func forWhom(people []string, name NameOf) string {
	if len(people) == 0 {
		return ""
	}
	return " for " + named(people, name)
}

// named lists people by name.
func named(ids []string, name NameOf) string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = name(id)
	}
	return listed(out)
}

func listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// VerdictWords says a verdict.
func VerdictWords(v readiness.Verdict) string {
	return [...]string{readiness.NotReady: "not ready", readiness.CannotTell: "cannot tell", readiness.Conditional: "ready with conditions", readiness.Ready: "ready"}[v]
}

var methodWords = map[groundhand.Method]string{
	groundhand.PairKit:         "kit, two on the ground",
	groundhand.LoneKit:         "kit, one alone on the ground",
	groundhand.ManualLowering:  "manual lowering",
	groundhand.PoleTop:         "from a pole",
	groundhand.SubstationCase:  "inside a substation",
	groundhand.LowVoltagePanel: "low-voltage gear",
	groundhand.FirstAid:        "first aid",
	groundhand.Familiarisation: "familiarisation",
}

// MethodWords says a method; one that the program does not know is given as it is called.
func MethodWords(id string) string { return wordsOr(methodWords, groundhand.Method(id)) }

var becauseWords = map[readiness.Because]string{
	readiness.BecauseAbsent:        "not there all the time",
	readiness.BecauseNotAble:       "does not work aloft",
	readiness.BecauseExclusiveDuty: "has another duty on the ground",
	readiness.BecauseNotKnown:      "something that decides is not known",
	readiness.BecauseNoCover:       "too little cover would be left on the ground",
}

// BecauseWords says why somebody must stay down.
func BecauseWords(b readiness.Because) string { return wordsOr(becauseWords, b) }

var codeWords = map[readiness.Code]string{
	readiness.CrewBelowTwo:             "fewer than two trained rescuers",
	readiness.NoCover:                  "no choice of who goes aloft leaves cover on the ground all the time",
	readiness.UnknownDecides:           "go and look, it decides",
	readiness.FirstAidSite:             "too few first aiders in date on site",
	readiness.FirstAidGround:           "too few first aiders in date stay on the ground, whoever goes aloft",
	readiness.TooFewAbleAloft:          "too few people who work aloft",
	readiness.LoneWorker:               "one person alone",
	readiness.NotForRescueDuty:         "held back from rescue duty",
	readiness.FourMinutes:              "of a fixed site, four minutes are named as information, not as a limit",
	readiness.CallPlanMissing:          "how help is called from there is not written down",
	readiness.DutyUnheld:               "somebody not counted here must take a duty",
	readiness.SwapAloft:                "somebody comes down on the way and somebody else goes up",
	readiness.NoDevice:                 "there is no device",
	readiness.DeviceOutOfService:       "the device is out of service, or a look at it is overdue",
	readiness.LowerControlsNotChecked:  "the lower controls were not worked today",
	readiness.EmergencyLoweringMissing: "there is no emergency lowering",
	readiness.NoKit:                    "there is no kit",
	readiness.KitNotOnDevice:           "the kit is not on this device",
	readiness.KitDoesNotSuit:           "the kit does not suit everybody who goes aloft",
	readiness.KitRatedLoad:             "the rated load of the kit cannot be read, or is too small",
	readiness.KitReach:                 "the rope does not reach from this device",
	readiness.KitWeeklyOverdue:         "the weekly look at the kit is overdue",
	readiness.KitMonthlyOverdue:        "the monthly look at the kit is overdue",
	readiness.KitYearlyOverdue:         "the yearly look at the kit is overdue",
	readiness.KitRetired:               "the last day of use of the kit is past",
	readiness.KitOutOfService:          "the kit is out of service",
	readiness.MethodMissesAim:          "this way takes longer than the employer aims at",
	readiness.CrewCountConditional:     "two trained rescuers only with those who count conditionally",
	readiness.GroundCountConditional:   "full rescuers enough on the ground only with those who count conditionally",
	readiness.MethodDepends:            "covered at every moment, but by different people or in different ways",
	"EXTENSION_IN_USE":                 "an extension is used",
	"PROVISIONAL_IN_USE":               "accepted provisionally, on paper",
}

// FindingWords says a finding, with what it is about.
func FindingWords(f readiness.Finding, name NameOf) string {
	text := wordsOr(codeWords, f.Code)
	if f.Severity == readiness.SeverityUnknown && f.Code != readiness.UnknownDecides {
		text = "perhaps " + text
	}
	return text + about(f.Code, f.Things, name) + numbers(f.Values)
}

// ConditionWords says a condition, with what it is about.
func ConditionWords(c readiness.Condition, name NameOf) string {
	return wordsOr(codeWords, c.Code) + about(c.Code, c.Things, name)
}

// ofThings are the codes whose things are no people.
var ofThings = map[readiness.Code]func(thing string) string{
	readiness.MethodMissesAim: MethodWords, readiness.GroundCountConditional: MethodWords,
	readiness.DutyUnheld: asIs, readiness.MethodDepends: asIs, readiness.CallPlanMissing: asIs, readiness.SwapAloft: asIs,
}

func asIs(thing string) string { return thing }

// about lists the things of a code: unknowns, methods, duties or people.
func about(code readiness.Code, things []string, name NameOf) string {
	if len(things) == 0 {
		return ""
	}
	say, known := ofThings[code]
	_, found := codeWords[code]
	switch {
	case known:
	case code == readiness.UnknownDecides:
		say = func(thing string) string { return UnknownWords(thing, name) }
	case code == readiness.NotForRescueDuty || !found || code == "EXTENSION_IN_USE" || code == "PROVISIONAL_IN_USE":
		say = name
	default:
		say = MethodWords // a line about the device or the kit strikes these methods
	}
	out := make([]string, len(things))
	for i, thing := range things {
		out[i] = say(thing)
	}
	return ": " + strings.Join(out, "; ")
}

func numbers(values readiness.Values) string {
	var out []string
	for _, what := range slices.Sorted(maps.Keys(values)) {
		if n := values[what]; n != nil {
			out = append(out, fmt.Sprintf("%s %d", strings.ReplaceAll(what, "_", " "), *n))
		}
	}
	if len(out) == 0 {
		return ""
	}
	return " (" + strings.Join(out, ", ") + ")"
}

var unknownWords = map[string]string{
	"job.near_50v":                  "is anything exposed and energised at 50 V or more near",
	"job.call_plan":                 "is it written down how help is called from there",
	"job.site.new_hires_trained":    "is everybody hired for the trimming trained in first aid",
	"device.family":                 "which control family the device belongs to",
	"device.lower_controls_checked": "were the lower controls worked today",
	"device.emergency_lowering":     "is there an emergency lowering",
	"kit.on_device":                 "is the kit on this device, within reach",
	"kit.suits_all":                 "does the kit suit everybody who goes aloft, with tools",
	"kit.rated_load_kg":             "the rated load on the label of the kit",
	"kit.reach":                     "does the rope reach: rope, tail, parts of line, height of the anchor",
	"kit.weekly":                    "when the kit was last looked at outside",
	"kit.monthly":                   "when the kit was last looked at inside",
	"kit.yearly":                    "when the kit had its yearly look",
	"kit.use_through":               "the last day of use of the kit",
}

// UnknownWords says what to look at or ask, from the name of an unknown.
func UnknownWords(unknown string, name NameOf) string {
	if who, is := strings.CutPrefix(unknown, "person."); is {
		who, lower := strings.CutSuffix(who, ".operates_lower")
		if lower {
			return "does " + name(who) + " work the lower controls"
		}
	}
	if method, is := strings.CutPrefix(unknown, "job.methods."); is {
		return "does the site allow " + MethodWords(method)
	}
	return wordsOr(unknownWords, unknown)
}

var refusedWords = map[readiness.RefusedReason]string{
	readiness.TooFar:             "too far away",
	readiness.OnLeave:            "on leave",
	readiness.AtRest:             "at rest after a shift",
	readiness.PlacedElsewhere:    "placed elsewhere then",
	readiness.Unavailable:        "not available",
	readiness.HeldBack:           "not for rescue duty",
	readiness.TooLate:            "cannot be there in time",
	readiness.LenderWorse:        "the lending crew would be worse off",
	readiness.LenderNotKnown:     "nobody can tell what the lending crew would be without",
	readiness.NotAuthorised:      "the assessor has no authority for it",
	readiness.AssessorNotFree:    "the assessor is not free",
	readiness.EndsAfterDeparture: "ends after departure",
	readiness.TooFewPeople:       "too few people for a run",
	readiness.NoHelp:             "would not help",
}

// RefusedWords says why somebody or something is in no change. It never tells about health.
func RefusedWords(r readiness.RefusedReason) string { return wordsOr(refusedWords, r) }

var lineWords = map[GearLineName]string{
	LineFamily:       "control family known",
	LineInService:    "in service",
	LineControls:     "worked from the lower controls on the day",
	LineEmergency:    "emergency lowering there",
	LineOnDevice:     "seen on this device on the day",
	LineSuits:        "suits everybody who goes aloft, by the foreman's word",
	LineReach:        "the rope reaches from this device",
	LineRatedLoad:    "rated load can be read",
	LineWeekly:       "weekly look",
	LineMonthly:      "monthly look",
	LineYearly:       "yearly look",
	LineLastDayOfUse: "last day of use",
}

// LineWords says what a line about device or kit is.
func LineWords(n GearLineName) string { return wordsOr(lineWords, n) }

var lookWords = map[Look]string{
	LookControls: "work the device through a full cycle from its lower controls",
	LookKit:      "see that the kit is on this device and can be reached",
	LookSuits:    "the foreman says that the kit suits everybody who goes aloft, with tools",
}

// LookWords says what is to be looked at before departure.
func LookWords(l Look) string { return wordsOr(lookWords, l) }

var ofWords = map[readiness.Of]string{
	readiness.OfCapability:         "what somebody may do in a rescue",
	readiness.OfFirstAid:           "first aid in date",
	readiness.OfNotForRescue:       "somebody is held back from rescue duty",
	readiness.OfUnavailable:        "somebody is not there",
	readiness.OfDeviceOutOfService: "the device is out of service",
	readiness.OfKitOutOfService:    "the kit is out of service",
	readiness.OfKitWeekly:          "the weekly look at the kit",
	readiness.OfKitMonthly:         "the monthly look at the kit",
	readiness.OfKitYearly:          "the yearly look at the kit",
	readiness.OfKitUseThrough:      "use of the kit",
}

// ofPeople are the ends that are about somebody.
var ofPeople = []readiness.Of{readiness.OfCapability, readiness.OfFirstAid, readiness.OfNotForRescue, readiness.OfUnavailable}

// EdgeWords says what begins or ends at a moment, and whose it is.
func EdgeWords(c readiness.Change, name NameOf) string {
	verb, who := "ends: ", c.ID
	if c.Edge == readiness.EdgeStart {
		verb = "begins: "
	}
	if slices.Contains(ofPeople, c.Of) {
		who = name(c.ID)
	}
	return verb + wordsOr(ofWords, c.Of) + ", " + who
}

// wordsOr gives the words of a code or, for one that a rule set brought along, the code written small.
func wordsOr[K ~string](words map[K]string, code K) string {
	if text, known := words[code]; known {
		return text
	}
	return strings.ToLower(strings.ReplaceAll(string(code), "_", " "))
}
