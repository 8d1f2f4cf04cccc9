package graph_test

import (
	"cmp"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"time"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rulebook"
)

// handwritten answers one question, may this crew be sent on a day to come, as a program would that does nothing else: net/http, database/sql, statements
// written out, encoding/json. It asks the same engines and is what the service is measured against.
type handwritten struct {
	db   *sql.DB
	zone *time.Location
}

// alive leaves out what was replaced or withdrawn.
func alive(table string) string {
	return ` AND NOT EXISTS (SELECT 1 FROM ` + table + ` c WHERE c.replaces_id = e.id) AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.withdraws_id = e.id)`
}

const inKeys = ` IN (SELECT value FROM json_each(?))`

type handAsk struct {
	Crew, Device, CallPlan, Near50V string
	From, To                        groundhand.Instant
	Methods                         []string
}

func (h handwritten) ServeHTTP(w http.ResponseWriter, req *http.Request) {
	ctx, cancel := context.WithTimeout(req.Context(), 30*time.Second)
	defer cancel()
	token, _ := strings.CutPrefix(req.Header.Get("Authorization"), "Bearer ")
	var body struct{ Variables struct{ Ask handAsk } }
	reply, err := []byte(nil), h.open(ctx, token)
	if err == nil {
		err = json.NewDecoder(http.MaxBytesReader(w, req.Body, 2<<20)).Decode(&body)
	}
	if err == nil {
		reply, err = h.answer(ctx, body.Variables.Ask)
	}
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(reply)
}

func (h handwritten) open(ctx context.Context, token string) error {
	digest := sha256.Sum256([]byte(token))
	var capacity string
	return h.db.QueryRowContext(ctx, `SELECT a.capacity FROM tokens t JOIN accounts a ON a.id = t.account_id WHERE t.digest = ? AND t.revoked_at IS NULL
		AND a.capacity IN ('COORDINATOR', 'DISPATCHER', 'AUDITOR')`, hex.EncodeToString(digest[:])).Scan(&capacity)
}

// rowsOf runs a statement and hands each row to a function that scans it.
func (h handwritten) rows(ctx context.Context, each func(scan func(...any) error) error, query string, args ...any) error {
	rows, err := h.db.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := each(rows.Scan); err != nil {
			return err
		}
	}
	return rows.Err()
}

func (h handwritten) strings(ctx context.Context, query string, args ...any) (out []string, err error) {
	err = h.rows(ctx, func(scan func(...any) error) error {
		var s string
		err := scan(&s)
		out = append(out, s)
		return err
	}, query, args...)
	return out, err
}

func (h handwritten) answer(ctx context.Context, ask handAsk) ([]byte, error) {
	day := groundhand.DateOf(ask.From.In(h.zone))
	sets, own, rules, err := h.ruleSets(ctx, day)
	if err != nil {
		return nil, err
	}
	rules.Cover.ID = own
	if rules.Cover.Families, err = h.strings(ctx, `SELECT id FROM families e WHERE true`+alive("families")+` ORDER BY recorded_at, id`); err != nil {
		return nil, err
	}
	q := readiness.Question{Name: "crew " + ask.Crew, Window: readiness.Window{From: ask.From, To: ask.To, Zone: h.zone}, Rules: rules.Cover, People: []readiness.Person{}}
	if err := h.db.QueryRowContext(ctx, `SELECT yard_id FROM crews e WHERE id = ?`+alive("crews"), ask.Crew).Scan(&q.Yard); err != nil {
		return nil, err
	}
	q.Job = handJob(ask, rules.Cover)
	if q.Device, q.Kit, err = h.gear(ctx, ask.Device, day, rules.Inspections); err != nil {
		return nil, err
	}
	people, err := h.strings(ctx, `SELECT worker_id FROM memberships e WHERE (from_on IS NULL OR from_on <= ?) AND (to_on IS NULL OR to_on >= ?) AND crew_id = ?`+alive("memberships")+` ORDER BY worker_id`,
		day, day, ask.Crew)
	if err != nil {
		return nil, err
	}
	facts := competence.Facts{Name: "by hand", Zone: h.zone.String(), RuleSets: sets}
	grades := map[string]groundhand.Grading{}
	away := map[string][]readiness.Absence{}
	for asked, next := map[string]bool{}, people; len(next) > 0; {
		for _, who := range next {
			asked[who] = true
		}
		if err := h.evidence(ctx, &facts, next, grades, away, ask); err != nil {
			return nil, err
		}
		next = nil
		for _, e := range facts.Entries {
			if e.Assessor != "" && !asked[e.Assessor] && !slices.Contains(next, e.Assessor) {
				next = append(next, e.Assessor)
			}
		}
	}
	book, err := competence.NewBook(facts)
	if err != nil {
		return nil, err
	}
	for _, who := range people {
		p, err := handPerson(book, who, ask.Crew, grades[who], q, day)
		if err != nil {
			return nil, err
		}
		p.Unavailable = append(p.Unavailable, away[who]...)
		q.People = append(q.People, p)
	}
	a, err := readiness.Judge(q)
	if err != nil {
		return nil, err
	}
	return h.reply(ctx, a, people, day)
}

func (h handwritten) ruleSets(ctx context.Context, day groundhand.Date) (sets []competence.RuleSet, own string, rules rulebook.Rules, err error) {
	var since groundhand.Date
	err = h.rows(ctx, func(scan func(...any) error) error {
		var s competence.RuleSet
		var body string
		if err := scan(&s.ID, &s.Default, &s.EffectiveFrom, &s.EffectiveThrough, &body); err != nil {
			return err
		}
		read, err := rulebook.Read(body)
		s.Lines = read.Standing
		sets = append(sets, s)
		if s.Default && s.EffectiveFrom <= day && (s.EffectiveThrough == 0 || day <= s.EffectiveThrough) && s.EffectiveFrom >= since {
			since, own, rules = s.EffectiveFrom, s.ID, read
		}
		return err
	}, `SELECT id, is_default, effective_from, effective_through, body FROM rule_sets e WHERE true`+alive("rule_sets"))
	return sets, own, rules, err
}

func handJob(ask handAsk, rules readiness.Rules) readiness.Job {
	job := readiness.Job{ID: "crew " + ask.Crew, Buckets: []readiness.Bucket{{ID: "B1", People: 1}}, Methods: map[string]readiness.YesNo{}, Near50V: yes(ask.Near50V == "YES"),
		Site: readiness.Site{Kind: readiness.Field, RuleText: readiness.General}, CallPlan: yes(ask.CallPlan == "YES"), Exclusive: []readiness.Duty{}}
	for _, m := range rules.Methods {
		job.Methods[m.ID] = yes(slices.Contains(ask.Methods, m.ID))
	}
	return job
}

func yes(is bool) readiness.YesNo {
	if is {
		return readiness.Yes
	}
	return readiness.No
}

// told are the columns that every entry has.
const told = `e.id, e.happened_on, e.happened_at, e.recorded_at, coalesce(e.author_id, 'capacity'), `

func into(e *competence.Entry, person *string, more ...any) []any {
	return append([]any{&e.ID, &e.HappenedOn, &e.HappenedAt, &e.RecordedAt, &e.Author, person}, more...)
}

// evidence reads what bears on the standing of some people, one statement for each kind.
func (h handwritten) evidence(ctx context.Context, facts *competence.Facts, who []string, grades map[string]groundhand.Grading, away map[string][]readiness.Absence, ask handAsk) error {
	b, err := json.Marshal(who)
	if err != nil {
		return err
	}
	keys := string(b)
	read := func(kind competence.Kind, query string, cells func(*competence.Entry) []any, finish func(*competence.Entry)) {
		if err != nil {
			return
		}
		err = h.rows(ctx, func(scan func(...any) error) error {
			e := competence.Entry{Kind: kind}
			if err := scan(cells(&e)...); err != nil {
				return err
			}
			if e.HappenedAt != 0 {
				e.HappenedOn = 0
			}
			e.Role = handRole(e.Role)
			e.Result, e.Level = strings.ToLower(e.Result), strings.ToLower(e.Level)
			finish(&e)
			facts.Entries = append(facts.Entries, e)
			return nil
		}, query, keys)
	}
	none := func(*competence.Entry) {}
	read(competence.Run, `SELECT `+told+`e.worker_id, r.method, e.role, coalesce(r.family_id, ''), r.complete, r.theory, coalesce(r.watched_by, '') FROM run_parts e JOIN runs r ON r.id = e.run_id
		WHERE e.worker_id`+inKeys+alive("run_parts")+` AND NOT EXISTS (SELECT 1 FROM withdrawals w WHERE w.withdraws_id = r.id)`,
		func(e *competence.Entry) []any {
			return into(e, &e.Person, &e.Method, &e.Role, &e.Family, &e.Complete, &e.Theory, &e.WatchedBy)
		}, none)
	read(competence.Assessment, `SELECT `+told+`e.worker_id, e.method, e.role, coalesce(e.family_id, ''), e.result, e.assessor_id, e.theory, coalesce(e.run_part_id, '') FROM assessments e WHERE e.worker_id`+inKeys+alive("assessments"),
		func(e *competence.Entry) []any {
			return into(e, &e.Person, &e.Method, &e.Role, &e.Family, &e.Result, &e.Assessor, &e.Theory, &e.OfRun)
		}, none)
	read(competence.Outside, `SELECT `+told+`e.worker_id, e.method, e.role, coalesce(e.family_id, ''), e.issuer, e.level, coalesce(e.checker_id, '') FROM outside_evidences e WHERE e.worker_id`+inKeys+alive("outside_evidences"),
		func(e *competence.Entry) []any {
			return into(e, &e.Person, &e.Method, &e.Role, &e.Family, &e.Issuer, &e.Level, &e.Checker)
		}, func(e *competence.Entry) {
			e.Role = cmp.Or(strings.TrimSuffix(e.Role, competence.RoleObserver), competence.RoleLead)
		})
	read(competence.Suspension, `SELECT `+told+`e.worker_id, e.method, e.role, coalesce(e.family_id, '') FROM suspensions e WHERE e.worker_id`+inKeys+alive("suspensions"),
		func(e *competence.Entry) []any { return into(e, &e.Person, &e.Method, &e.Role, &e.Family) }, none)
	read(competence.Lifting, `SELECT `+told+`e.worker_id, e.suspension_id, e.pass_id FROM liftings e WHERE e.worker_id`+inKeys+alive("liftings"),
		func(e *competence.Entry) []any { return into(e, &e.Person, &e.Lifts, &e.ByPass) }, none)
	read(competence.Extension, `SELECT `+told+`e.worker_id, e.method, e.role, coalesce(e.family_id, ''), e.from_on, e.to_on, e.approver_id FROM extensions e WHERE e.worker_id`+inKeys+alive("extensions"),
		func(e *competence.Entry) []any {
			return into(e, &e.Person, &e.Method, &e.Role, &e.Family, &e.From, &e.To, &e.Approver)
		}, none)
	read(competence.Provisional, `SELECT `+told+`e.worker_id, e.method, e.role, coalesce(e.family_id, ''), e.from_on, e.to_on FROM provisionals e WHERE e.worker_id`+inKeys+alive("provisionals"),
		func(e *competence.Entry) []any {
			return into(e, &e.Person, &e.Method, &e.Role, &e.Family, &e.From, &e.To)
		}, none)
	var from, to groundhand.Instant
	read(competence.Away, `SELECT `+told+`e.worker_id, e.from_at, e.to_at FROM unavailabilities e WHERE e.kind IN ('LEAVE', 'SICK') AND e.worker_id`+inKeys+alive("unavailabilities"),
		func(e *competence.Entry) []any { return into(e, &e.Person, &from, &to) },
		func(e *competence.Entry) {
			e.From, e.HappenedAt = groundhand.DateOf(from.In(h.zone)), 0
			e.HappenedOn = e.From
			if to != 0 {
				e.To = groundhand.DateOf((to - 1).In(h.zone))
			}
			if from < ask.To && (to == 0 || ask.From < to) {
				away[e.Person] = append(away[e.Person], readiness.Absence{Interval: readiness.Interval{From: readiness.Edge{At: from}, To: to}, Why: readiness.WhyLeave})
			}
		})
	read(competence.Grade, `SELECT `+told+`e.worker_id, e.grade, e.year FROM gradings e WHERE e.worker_id`+inKeys+alive("gradings")+` ORDER BY e.happened_on, e.recorded_at`,
		func(e *competence.Entry) []any { return into(e, &e.Person, &e.Grade, &e.Year) },
		func(e *competence.Entry) {
			grades[e.Person] = groundhand.Grading{Grade: groundhand.Grade(e.Grade), Year: e.Year}
			if e.Grade = competence.GradeQualified; grades[e.Person].Grade == groundhand.Apprentice {
				e.Grade = competence.GradeApprentice
			}
		})
	var methods, families groundhand.List
	read(competence.Authority, `SELECT `+told+`e.assessor_id, e.methods, e.families, e.from_on, e.to_on FROM authorities e WHERE e.assessor_id`+inKeys+alive("authorities"),
		func(e *competence.Entry) []any { return into(e, &e.Person, &methods, &families, &e.From, &e.To) },
		func(e *competence.Entry) { e.Methods, e.Families = methods, families })
	return err
}

func handRole(role string) string {
	switch role {
	case "LEAD", "SECOND", "LONE", "CASUALTY", "":
		return strings.ToLower(role)
	}
	return competence.RoleObserver
}

// handPerson asks for the standing of the day in every method, family and role: a plain day on which nothing happens to anybody.
func handPerson(book *competence.Book, who, crew string, grade groundhand.Grading, q readiness.Question, day groundhand.Date) (readiness.Person, error) {
	p := readiness.Person{ID: who, Crew: crew, Grade: string(grade.Grade), CanGoAloft: grade.Grade.Aloft(), OperatesLower: readiness.No,
		Capabilities: []readiness.Capability{}, FirstAid: []readiness.FirstAid{}, NotForRescue: []readiness.Interval{}, Unavailable: []readiness.Absence{}}
	held := func(method, role, family string) (bool, error) {
		a, err := book.Glance(competence.Question{Person: who, Method: method, Role: strings.ToLower(role), Family: family, On: day})
		return a.Standing == competence.Current, err
	}
	for _, m := range q.Rules.Methods {
		family := ""
		if m.PerFamily {
			family = q.Device.Family
		}
		leads := false
		for _, role := range m.Roles {
			if role == readiness.Second && leads {
				continue
			}
			is, err := held(m.ID, string(role), family)
			if err != nil {
				return p, err
			}
			if is {
				leads = leads || role == readiness.Lead
				p.Capabilities = append(p.Capabilities, readiness.Capability{Method: m.ID, Role: role, Family: family, From: readiness.Edge{Day: day}, Through: day, State: readiness.Current})
				if role != readiness.Second {
					p.OperatesLower = readiness.Yes
				}
			}
		}
	}
	is, err := held("FIRST_AID", "second", "")
	if is {
		p.FirstAid = append(p.FirstAid, readiness.FirstAid{From: readiness.Edge{Day: day}, Through: day})
	}
	return p, err
}

type (
	handWorker struct {
		ID   string `json:"id"`
		Name string `json:"name"`
	}
	handAloft struct {
		Worker  handWorker `json:"worker"`
		Verdict string     `json:"verdict"`
		With    []string   `json:"with"`
	}
	handDown struct {
		Worker  handWorker `json:"worker"`
		Because string     `json:"because"`
	}
	handFinding struct {
		Code     string   `json:"code"`
		Severity string   `json:"severity"`
		Things   []string `json:"things"`
	}
	handCover struct {
		Verdict      string        `json:"verdict"`
		VerdictUntil string        `json:"verdictUntil"`
		MayGoAloft   []handAloft   `json:"mayGoAloft"`
		MustStayDown []handDown    `json:"mustStayDown"`
		Findings     []handFinding `json:"findings"`
	}
)

func (h handwritten) reply(ctx context.Context, a readiness.Answer, people []string, day groundhand.Date) ([]byte, error) {
	keys, err := json.Marshal(people)
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	err = h.rows(ctx, func(scan func(...any) error) error {
		var who, name string
		err := scan(&who, &name)
		names[who] = name
		return err
	}, `SELECT worker_id, name FROM worker_names e WHERE happened_on <= ? AND worker_id`+inKeys+alive("worker_names")+` ORDER BY happened_on, recorded_at`, day, string(keys))
	if err != nil {
		return nil, err
	}
	out := handCover{Verdict: a.Verdict.String(), VerdictUntil: a.HoldsUntil.Verdict.At.String(), MayGoAloft: []handAloft{}, MustStayDown: []handDown{}, Findings: []handFinding{}}
	for _, p := range a.MayGoAloft {
		out.MayGoAloft = append(out.MayGoAloft, handAloft{handWorker{p.Person, names[p.Person]}, p.Class.String(), p.With})
	}
	for _, p := range a.MustStayDown {
		out.MustStayDown = append(out.MustStayDown, handDown{handWorker{p.Person, names[p.Person]}, string(p.Because)})
	}
	for _, f := range a.Findings {
		out.Findings = append(out.Findings, handFinding{string(f.Code), string(f.Severity), append([]string{}, f.Things...)})
	}
	return json.Marshal(map[string]any{"data": map[string]any{"crewCover": out}})
}
