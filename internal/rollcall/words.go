package rollcall

import (
	"fmt"
	"strings"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// Words for what a cover answer says in codes, the same for every mouth. None of them is a procedure, and a caution stands beside them
// wherever they are shown.

// Names gives the name of somebody by id.
type Names func(id string) string

var verdictWords = map[readiness.Verdict]string{
	readiness.Ready: "READY", readiness.Conditional: "READY WITH CONDITIONS", readiness.NotReady: "NOT READY", readiness.CannotTell: "CANNOT TELL",
}

// VerdictWords is a verdict as it is printed.
func VerdictWords(v readiness.Verdict) string { return verdictWords[v] }

var methodWords = map[groundhand.Method]string{
	groundhand.PairKit:         "kit, two on the ground",
	groundhand.LoneKit:         "kit, one alone on the ground",
	groundhand.ManualLowering:  "lowering by hand",
	groundhand.PoleTop:         "from a pole",
	groundhand.SubstationCase:  "inside a substation",
	groundhand.LowVoltagePanel: "low-voltage gear",
	groundhand.FirstAid:        "first aid",
	groundhand.Familiarisation: "familiarisation",
}

// MethodWords is a rescue method in short.
func MethodWords(m string) string { return orCode(methodWords[groundhand.Method(m)], m) }

var roleWords = map[readiness.Role]string{readiness.Lead: "leads", readiness.Second: "second", readiness.Lone: "alone"}

// RoleWords is a place in the rescue team.
func RoleWords(r readiness.Role) string { return orCode(roleWords[r], string(r)) }

var becauseWords = map[readiness.Because]string{
	readiness.BecauseAbsent: "not there", readiness.BecauseNotAble: "does not work aloft", readiness.BecauseExclusiveDuty: "has another duty",
	readiness.BecauseNotKnown: "not known yet", readiness.BecauseNoCover: "nobody below otherwise",
}

// BecauseWords is why somebody must stay down.
func BecauseWords(b readiness.Because) string { return orCode(becauseWords[b], string(b)) }

var codeWords = map[readiness.Code]string{
	readiness.CrewBelowTwo:             "fewer than two trained rescuers",
	readiness.NoCover:                  "no choice of who goes aloft leaves cover on the ground all through",
	readiness.UnknownDecides:           "look first",
	readiness.FirstAidSite:             "too few first aiders in date on site",
	readiness.FirstAidGround:           "too few first aiders in date would be left on the ground, whoever goes up",
	readiness.TooFewAbleAloft:          "too few people there who may work aloft",
	readiness.LoneWorker:               "one person alone",
	readiness.NotForRescueDuty:         "held back from rescue duty",
	readiness.FourMinutes:              "of a fixed site, four minutes are named as information, not as a limit",
	readiness.CallPlanMissing:          "how help is called from there is first written down",
	readiness.DutyUnheld:               "somebody not counted here takes the duty",
	readiness.SwapAloft:                "who is aloft changes on the way",
	readiness.NoDevice:                 "there is no device",
	readiness.DeviceOutOfService:       "the device is out of service, or an inspection of it is overdue",
	readiness.LowerControlsNotChecked:  "the lower controls were not checked",
	readiness.EmergencyLoweringMissing: "no emergency lowering",
	readiness.NoKit:                    "there is no kit on the device",
	readiness.KitNotOnDevice:           "the kit is not on this device",
	readiness.KitDoesNotSuit:           "the kit does not suit everybody who goes up",
	readiness.KitRatedLoad:             "the rated load on the kit's label is too small, or cannot be read",
	readiness.KitReach:                 "the rope is too short to lower from the anchor of this device",
	readiness.KitWeeklyOverdue:         "the kit's weekly look is overdue",
	readiness.KitMonthlyOverdue:        "the kit's monthly look is overdue",
	readiness.KitYearlyOverdue:         "the kit's yearly inspection is overdue",
	readiness.KitRetired:               "the kit's last day of use is past",
	readiness.KitOutOfService:          "the kit is out of service",
	readiness.MethodMissesAim:          "the method misses an aim",
	readiness.CrewCountConditional:     "two trained rescuers only if people count who are on an extension or accepted on paper",
	readiness.GroundCountConditional:   "one of those needed on the ground counts only on an extension or on paper",
	readiness.MethodDepends:            "covered at every moment, by different people or methods",
	"EXTENSION_IN_USE":                 "on an approved extension",
	"PROVISIONAL_IN_USE":               "accepted on paper for a time",
	"FIRST_AID_WITHIN_3_MIN":           "first aid begun within three minutes",
}

// CodeWords is a reason or a condition without what it names.
func CodeWords(c readiness.Code) string { return orCode(codeWords[c], string(c)) }

var severityWords = map[readiness.Severity]string{
	readiness.SeverityBlock: "because", readiness.SeverityUnknown: "not known", readiness.SeverityLine: "struck",
	readiness.SeverityCondition: "on condition", readiness.SeverityNote: "note",
}

// SeverityWords is what a finding does.
func SeverityWords(s readiness.Severity) string { return orCode(severityWords[s], string(s)) }

// FindingWords is a finding with what it names.
func FindingWords(f readiness.Finding, names Names) string {
	words := CodeWords(f.Code)
	switch f.Code {
	case readiness.CrewBelowTwo:
		return fmt.Sprintf("%s: %s of %s", words, number(f.Values["count"]), number(f.Values["least"]))
	case readiness.FirstAidSite, readiness.FirstAidGround:
		return fmt.Sprintf("%s: %s of %s", words, number(f.Values["have"]), number(f.Values["need"]))
	case readiness.UnknownDecides:
		return words + ": " + joined(f.Things, func(t string) string { return UnknownWords(t, names) })
	case readiness.NotForRescueDuty:
		return joined(f.Things, names) + ": " + words
	case readiness.DutyUnheld:
		return words + " " + strings.Join(f.Things, ", ")
	case readiness.KitReach:
		return words + reachWords(f.Values)
	}
	if f.Severity == readiness.SeverityLine && len(f.Things) > 0 {
		return joined(f.Things, MethodWords) + ": " + words
	}
	return words
}

func reachWords(v readiness.Values) string {
	have, need := v["have_cm"], v["need_cm"]
	if have == nil || need == nil {
		return ""
	}
	return fmt.Sprintf(": %.2f m of %.2f m", float64(*have)/100, float64(*need)/100)
}

// ConditionWords is a condition with whom or what it names.
func ConditionWords(c readiness.Condition, names Names) string {
	words := CodeWords(c.Code)
	switch c.Code {
	case readiness.MethodMissesAim:
		return joined(c.Things, func(t string) string {
			if aim, is := codeWords[readiness.Code(t)]; is {
				return "misses the aim of " + aim
			}
			return MethodWords(t)
		})
	case readiness.GroundCountConditional:
		return words + " (" + joined(c.Things, MethodWords) + ")"
	case readiness.DutyUnheld:
		return words + " " + strings.Join(c.Things, ", ")
	}
	if len(c.Things) == 0 {
		return words
	}
	return joined(c.Things, names) + ": " + words
}

var unknownWords = map[string]string{
	"job.near_50v": "whether anything near is energised at 50 V or more", "job.call_plan": "whether it is written down how help is called",
	"job.new_hires_trained": "whether everybody hired is trained in first aid within three months", "device.family": "which control family the device belongs to",
	"device.lower_controls_checked": "the lower controls on the day", "device.emergency_lowering": "whether emergency lowering is there",
	"kit.on_device": "whether the kit is on this device", "kit.suits_all": "whether the kit suits everybody who goes up, with tools",
	"kit.rated_load_kg": "the rated load on the kit's label", "kit.reach": "rope, parts of line and anchor height", "kit.weekly": "the kit's weekly look",
	"kit.monthly": "the kit's monthly look", "kit.yearly": "the kit's yearly inspection", "kit.use_through": "the kit's last day of use",
}

// UnknownWords is an unknown that is to be looked at.
func UnknownWords(name string, names Names) string {
	if words, is := unknownWords[name]; is {
		return words
	}
	if who, is := strings.CutPrefix(name, "person."); is {
		return "whether " + names(strings.TrimSuffix(who, ".operates_lower")) + " works the lower controls"
	}
	if method, is := strings.CutPrefix(name, "job.methods."); is {
		return "whether the site allows: " + MethodWords(method)
	}
	return strings.ReplaceAll(name, "_", " ")
}

var lookWords = map[Look]string{
	LookControls: "full cycle from the lower controls", LookKit: "kit seen on this device, within reach", LookSuits: "kit suits everybody who goes up, with tools",
}

// Words is a look of the day.
func (l Look) Words() string { return lookWords[l] }

var gearWords = map[GearLineName]string{
	LineFamily: "control family known", LineInService: "in service", LineControls: "lower controls checked", LineEmergency: "emergency lowering there",
	LineOnDevice: "on this device", LineSuits: "suits everybody who goes up", LineReach: "rope long enough", LineRatedLoad: "rated load readable",
	LineWeekly: "weekly look", LineMonthly: "monthly look", LineYearly: "yearly inspection", LineLastDayOfUse: "last day of use",
}

// Words is a line about device or kit.
func (n GearLineName) Words() string { return gearWords[n] }

var rungWords = map[int]string{
	readiness.RungAloft: "change who goes aloft", readiness.RungEquipment: "another kit or device of this yard", readiness.RungDrill: "a watched drill before departure",
	readiness.RungPerson: "one more person of this yard", readiness.RungNeighbour: "from a neighbouring yard", readiness.RungLater: "a later start",
	readiness.RungOtherWay: "another way of doing the work", readiness.RungDoNotSend: "do not send",
}

// RungWords is how far a change reaches, the smallest first.
func RungWords(rung int) string { return rungWords[rung] }

// ChangeWords is one change of a fix.
func ChangeWords(c readiness.FixChange, names Names) string {
	people := joined(c.People, names)
	switch c.Do {
	case readiness.DoAloft:
		return people + " aloft"
	case readiness.DoKit:
		return "put kit " + c.ID + " on the device"
	case readiness.DoDevice:
		return "take device " + c.ID + " with its kit"
	case readiness.DoDrill:
		return "watched drill " + drillWords(c.ID, names) + " for " + people
	case readiness.DoPerson:
		return names(c.ID) + " joins the crew"
	case readiness.DoLater:
		return "start at " + c.ID
	case readiness.DoOtherWay:
		return c.ID
	}
	return "do not send this crew"
}

// drillWords puts the assessor's name into the name of a drill.
func drillWords(id string, names Names) string {
	before, who, is := strings.Cut(id, " by ")
	if !is {
		return id
	}
	part := strings.Fields(before)
	if len(part) == 3 {
		before = "at " + part[0] + " (" + MethodWords(part[1]) + ", " + part[2] + ")"
	}
	return before + " with " + names(who)
}

var refusedWords = map[readiness.RefusedReason]string{
	readiness.TooFar: "too far away", readiness.OnLeave: "on leave", readiness.AtRest: "at rest", readiness.PlacedElsewhere: "already placed",
	readiness.Unavailable: "not available", readiness.HeldBack: "held back from rescue duty", readiness.TooLate: "cannot be there in time",
	readiness.LenderWorse: "would leave the lending crew worse", readiness.LenderNotKnown: "nobody can tell what it does to the lending crew",
	readiness.NotAuthorised: "the assessor has no authority for it", readiness.AssessorNotFree: "the assessor is not free",
	readiness.EndsAfterDeparture: "ends after the departure", readiness.TooFewPeople: "too few who could take part", readiness.NoHelp: "would not help",
}

// RefusedWords is why a candidate is in no fix. It never tells about health.
func RefusedWords(r readiness.RefusedReason) string { return orCode(refusedWords[r], string(r)) }

var spanWords = map[readiness.Of]string{
	readiness.OfCapability: "practice", readiness.OfFirstAid: "first aid", readiness.OfNotForRescue: "restriction from rescue duty",
	readiness.OfUnavailable: "absence", readiness.OfDeviceOutOfService: "time out of service of the device", readiness.OfKitOutOfService: "time out of service of the kit",
	readiness.OfKitWeekly: "weekly look at the kit", readiness.OfKitMonthly: "monthly look at the kit", readiness.OfKitYearly: "yearly inspection of the kit",
	readiness.OfKitUseThrough: "last day of use of the kit",
}

// SpanWords is what begins or ends, of whom or what.
func SpanWords(c readiness.Change, names Names) string {
	verb := "ends"
	if c.Edge == readiness.EdgeStart {
		verb = "begins"
	}
	who := names(c.ID)
	if who == "" {
		who = c.ID
	}
	return fmt.Sprintf("%s of %s %s", orCode(spanWords[c.Of], string(c.Of)), who, verb)
}

// orCode falls back on the code itself, so that nothing is left out for want of words.
func orCode(words, code string) string {
	if words == "" {
		return strings.ToLower(strings.ReplaceAll(code, "_", " "))
	}
	return words
}

func joined(things []string, words func(string) string) string {
	out := make([]string, len(things))
	for i, t := range things {
		out[i] = words(t)
	}
	return strings.Join(out, ", ")
}

func number(n *int) string {
	if n == nil {
		return "not known"
	}
	if words := []string{"none", "one", "two", "three", "four"}; *n >= 0 && *n < len(words) {
		return words[*n]
	}
	return fmt.Sprint(*n)
}
