package credential

import (
	"slices"
	"strconv"
	"time"

	"groundhand/internal/strictjson"
)

// most is how many identities or results a file may list; we write one of each.
const most = 8

// shape reads the members of a file into a credential, refusing what is missing, unknown or not as we write it. Whatever passes is a
// small tree of statements, so that putting it in order takes no time worth attacking.
func shape(r strictjson.Record) (Credential, error) {
	c := Credential{ID: r.Text("id"), Name: r.Text("name"), ValidFrom: readMoment(r, "validFrom", true), ValidUntil: readMoment(r, "validUntil", false)}
	part(r, "issuer", true, typeProfile, func(p strictjson.Record) {
		c.IssuerID, c.IssuerName, c.IssuerURL = p.Text("id"), p.Text("name"), p.Label("url")
	})
	part(r, "credentialStatus", false, typeStatus, func(s strictjson.Record) { c.Status = readStatus(s) })
	part(r, "credentialSubject", true, typeSubject, c.readSubject)
	r.Done()
	if err := refused(r.Form, c.Check()); err != nil {
		return Credential{}, err
	}
	return c, nil
}

func (c *Credential) readSubject(s strictjson.Record) {
	c.Number, c.Role = s.Text("licenseNumber"), s.Label("role")
	c.ShownFrom, c.ShownThrough = readMoment(s, "activityStartDate", true), readMoment(s, "activityEndDate", true)
	few(s, "identifier", c.readIdentity)
	if c.Person == "" {
		s.Refuse("credentialSubject.identifier", "There is no name in clear.")
	}
	part(s, "source", false, typeProfile, func(p strictjson.Record) {
		p.Text("id")
		c.Assessor = p.Text("name")
	})
	part(s, "achievement", true, typeTraining, c.readAchievement)
	few(s, "result", c.readResult)
	if c.Outcome == "" {
		s.Refuse("credentialSubject.result", "There is no outcome.")
	}
}

// readIdentity takes the name in clear; a hashed address may stand beside it and is passed over.
func (c *Credential) readIdentity(id strictjson.Record) {
	typed(id, typeIdentity)
	hashed, text, kind := flag(id, "hashed"), id.Text("identityHash"), id.Text("identityType")
	id.Label("salt")
	if !hashed && kind == identityName && c.Person == "" {
		c.Person = text
	}
}

func (c *Credential) readAchievement(r strictjson.Record) {
	a := &c.Achievement
	a.ID, a.Type, a.Name, a.Description = r.Text("id"), r.Text("achievementType"), r.Text("name"), r.Text("description")
	a.Code, a.Version = r.Label("humanCode"), r.Label("version")
	part(r, "criteria", true, "", func(p strictjson.Record) { a.Criteria = p.Text("narrative") })
	a.Alignment = strictjson.Records(r, "alignment", false, func(p strictjson.Record) Alignment {
		typed(p, typeAlignment)
		return Alignment{p.Text("targetName"), p.Label("targetFramework"), p.Label("targetCode"), p.Text("targetUrl")}
	})
	seen := map[string]bool{}
	few(r, "resultDescription", func(p strictjson.Record) {
		typed(p, typeOutcome)
		id, kind := p.Text("id"), p.Text("resultType")
		if seen[id] { // statements about one id are one set, so a second time would not be seen by the signature
			p.Refuse("credentialSubject.achievement.resultDescription", "The id %q occurs twice.", id)
		}
		seen[id] = true
		p.Text("name")
		p.Label("requiredValue")
		if kind == outcomeKind && c.OutcomeID == "" {
			c.OutcomeID = id
		}
	})
}

// readResult takes the outcome; values of other results may stand beside it and are passed over.
func (c *Credential) readResult(p strictjson.Record) {
	typed(p, typeResult)
	of, status := p.Text("resultDescription"), p.Label("status")
	p.Label("value")
	if of == c.OutcomeID && c.Outcome == "" {
		c.Outcome = status
	}
}

func readStatus(r strictjson.Record) *Status {
	index, err := strconv.Atoi(r.Text("statusListIndex"))
	s := &Status{r.Text("statusListCredential"), index}
	if id, purpose := r.Text("id"), r.Text("statusPurpose"); err != nil || purpose != purposeRevocation || id != s.entry() {
		// The id ends with the index as we write it, so " 7", "07" and "7abc" are refused with it.
		r.Refuse("credentialStatus", "This is not an entry for %s in a status list.", purposeRevocation)
	}
	return s
}

// part reads an object of one type inside another; typeless ones have an empty type.
func part(r strictjson.Record, name string, need bool, kind string, read func(strictjson.Record)) {
	v, path, ok := r.Value(name, need, false)
	if !ok {
		return
	}
	p := r.Object(path, v)
	if kind != "" {
		typed(p, kind)
	}
	read(p)
	p.Done()
}

// few reads a short list of objects.
func few(r strictjson.Record, name string, read func(strictjson.Record)) {
	n := len(strictjson.Records(r, name, true, func(p strictjson.Record) bool { read(p); return true }))
	if n > most {
		r.Refuse("credentialSubject", "%d items of %s are more than the %d that fit.", n, name, most)
	}
}

// typed asks for one type, alone or as a list of one: both say the same.
func typed(r strictjson.Record, kind string) {
	v, path, ok := r.Value("type", true, false)
	list, is := v.([]any)
	if !is {
		list = []any{v}
	}
	if ok && !slices.Equal(list, []any{kind}) {
		r.Refuse(path, "This is not of the type %s.", kind)
	}
}

func flag(r strictjson.Record, name string) bool {
	v, path, ok := r.Value(name, true, false)
	b, is := v.(bool)
	if ok && !is {
		r.Refuse(path, "This must be true or false.")
	}
	return b
}

func readMoment(r strictjson.Record, name string, need bool) time.Time {
	v, path, ok := r.Value(name, need, false)
	s, _ := v.(string)
	t, is := moment(s)
	if ok && !is {
		r.Refuse(path, "This is not a moment like 2027-03-01T09:30:00Z.")
	}
	return t
}
