package rulebook

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

var (
	rescuers    = []readiness.Role{readiness.Lead, readiness.Second, readiness.Lone}
	weakStates  = []readiness.State{readiness.InGrace, readiness.OnExtension, readiness.Provisional}
	coverCounts = []readiness.Counts{readiness.CountsFull, readiness.CountsConditional, readiness.CountsNo}
	needs       = []readiness.Need{readiness.NeedDevice, readiness.NeedLowerControls, readiness.NeedEmergencyLowering, readiness.NeedKit}
)

// readCover checks the `rules` part of the cover-question/1 form.
func readCover(p *groundhand.Problems, raw json.RawMessage, ls lines) readiness.Rules {
	var r readiness.Rules
	if len(raw) == 0 {
		p.Add(groundhand.CodeInvalid, "cover", "The rules say who counts below at a job.")
		return r
	}
	if err := strict(raw, &r); err != nil {
		p.Add(groundhand.CodeInvalid, "cover", "The cover rules are not readable: %s.", err)
		return r
	}
	between(p, "cover.crew_rescuers", r.CrewRescuers, 2, largestCrew)
	between(p, "cover.least_rated_load_kg", r.LeastRatedLoadKG, 0, 10000)
	if r.CallPlanMissing != readiness.Conditional && r.CallPlanMissing != readiness.NotReady {
		p.Add(groundhand.CodeInvalid, "cover.call_plan_missing", "A missing call plan makes a job CONDITIONAL or NOT_READY.")
	}
	checkMethods(p, r.Methods, ls)
	checkStates(p, r.States)
	checkGrades(p, r.GradeLimits)
	checkFirstAid(p, r.FirstAid)
	return r
}

func checkMethods(p *groundhand.Problems, methods []readiness.Method, ls lines) {
	if len(methods) == 0 {
		p.Add(groundhand.CodeInvalid, "cover.methods", "Name at least one method of rescue.")
	}
	ids := map[string]bool{}
	for i, m := range methods {
		at := fmt.Sprintf("cover.methods[%d]", i)
		once(p, at+".id", "method", m.ID, ids)
		knownMethod(p, at+".id", m.ID)
		checkMethod(p, at, m, ls)
	}
}

func checkMethod(p *groundhand.Problems, at string, m readiness.Method, ls lines) {
	if len(m.Roles) == 0 {
		p.Add(groundhand.CodeInvalid, at+".roles", "Name the roles of the method.")
	}
	seen := map[string]bool{}
	for i, role := range m.Roles {
		field := fmt.Sprintf("%s.roles[%d]", at, i)
		once(p, field, "role", string(role), seen)
		oneOf(p, field, role, rescuers)
		checkMethodLine(p, field, m, role, ls)
	}
	for i, need := range m.Needs {
		oneOf(p, fmt.Sprintf("%s.needs[%d]", at, i), need, needs)
	}
	between(p, at+".rescuers", m.Rescuers, max(1, len(m.Roles)), largestCrew)
	if m.Conditional && m.AimMissed == "" {
		p.Add(groundhand.CodeInvalid, at+".aim_missed", "Say which aim a conditional method misses.")
	}
}

// checkMethodLine refuses a method that nobody could ever count for.
func checkMethodLine(p *groundhand.Problems, field string, m readiness.Method, role readiness.Role, ls lines) {
	l, ok := ls.of(m.ID, strings.ToLower(string(role)))
	switch {
	case !ok && !ls.unreadable:
		p.Add(groundhand.CodeInvalid, field, "No line says who is current in %s as %s.", m.ID, role)
	case ok && l.PerFamily && !m.PerFamily:
		p.Add(groundhand.CodeInvalid, field, "The line %s goes by control family and the method does not.", l.ID)
	}
}

func checkStates(p *groundhand.Problems, states map[readiness.State]readiness.StateRule) {
	for _, name := range slices.Sorted(maps.Keys(states)) {
		at, s := "cover.states."+string(name), states[name]
		oneOf(p, at, name, weakStates)
		oneOf(p, at+".counts", s.Counts, coverCounts)
		if s.Counts == readiness.CountsFull && name != readiness.InGrace {
			p.Add(groundhand.CodeInvalid, at+".counts", "An extension or acceptance on paper never counts in full.")
		}
		if s.Counts == readiness.CountsConditional && s.Condition == "" {
			p.Add(groundhand.CodeInvalid, at+".condition", "Name the condition under which the state counts.")
		}
		for i, role := range s.NotRoles {
			oneOf(p, fmt.Sprintf("%s.not_roles[%d]", at, i), role, rescuers)
		}
	}
}

func checkGrades(p *groundhand.Problems, limits map[string][]readiness.Role) {
	for _, grade := range slices.Sorted(maps.Keys(limits)) {
		for i, role := range limits[grade] {
			oneOf(p, fmt.Sprintf("cover.grade_limits.%s[%d]", grade, i), role, rescuers)
		}
	}
}

// checkFirstAid holds the numbers against 29 CFR 1910.269(b)(1): two people for field work by two or more; one on the ground is ours.
func checkFirstAid(p *groundhand.Problems, f readiness.FirstAidNumbers) {
	between(p, "cover.first_aid.field", f.Field, 2, largestCrew)
	between(p, "cover.first_aid.trimmers", f.Trimmers, 1, max(1, f.Field))
	between(p, "cover.first_aid.fixed", f.Fixed, 1, largestCrew)
	between(p, "cover.first_aid.ground", f.Ground, 1, largestCrew)
	between(p, "cover.first_aid.below_50v", f.Below50V, 0, largestCrew)
}
