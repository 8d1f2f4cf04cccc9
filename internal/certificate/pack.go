package certificate

import (
	"bytes"
	"context"
	"io"
	"slices"

	"groundhand/internal/access"
	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// PackedUp says what went into a pack.
type PackedUp struct {
	People       int
	Good         int
	Certificates int                   // whose files are in it
	Missing      []groundhand.WorkerID // of whom something is good and no certificate says so, though one could be issued
}

// Pack writes, as a ZIP, what a client is handed about named people under its rule set: the list of the people for reading and for
// spreadsheets, and of what they are good in the certificates that are valid today, with everything that is needed to check them. Of who is
// not good it gives a reason only in words that tell nothing of health, absence or suspension. The whole is checked before the first byte
// is written. The same records asked on the same day give the same bytes. Progress may be nil.
func (c *Issuer) Pack(ctx context.Context, by groundhand.Account, q PackQuestion, w io.Writer, progress func(done, all int)) (PackedUp, error) {
	if err := access.May(by, access.ExportCertificates); err != nil {
		return PackedUp{}, err
	}
	var p pack
	err := c.store.InSnapshot(ctx, func(s *store.Store) (err error) {
		p, err = c.over(s).pack(ctx, q)
		return err
	})
	if err != nil {
		return PackedUp{}, err
	}
	bundle, err := p.bundle()
	if err != nil {
		return PackedUp{}, err
	}
	return p.summary(), paper.Zip(w, bundle, progress)
}

// pack is all that a pack needs from the records.
type pack struct {
	selection
	question PackQuestion
	people   []Packed
	list     paper.People
}

func (c *Issuer) pack(ctx context.Context, q PackQuestion) (p pack, err error) {
	p.question = q
	if err = c.inSomebodysName(); err != nil {
		return p, err
	}
	if p.people, err = c.listed(ctx, q); err != nil {
		return p, err
	}
	certs, err := store.Find[groundhand.Certificate](ctx, c.store, store.ByID, inHand(p.people))
	if err != nil {
		return p, err
	}
	states, err := c.states(ctx, certs)
	if err != nil {
		return p, err
	}
	certs = slices.DeleteFunc(certs, func(cert groundhand.Certificate) bool { return states[cert.ID] != Valid })
	if p.selection, err = c.selected(ctx, certs); err != nil {
		return p, err
	}
	words, err := c.book(ctx)
	if err != nil {
		return p, err
	}
	p.list = paper.People{Employer: c.options.Name, Rules: string(q.RuleSet) + ", " + words.titles[q.RuleSet], On: q.On, AsKnownOn: p.day, Cautions: packCautions()}
	says := p.stateWords(states)
	for _, one := range p.people {
		p.list.Persons = append(p.list.Persons, words.person(one, says))
	}
	return p, nil
}

// stateWords says of each certificate its state, and where its file does not go out, that too.
func (p pack) stateWords(states map[groundhand.CertificateID]State) map[groundhand.CertificateID]string {
	out := make(map[groundhand.CertificateID]string, len(states))
	for id, state := range states {
		out[id] = state.Words() + "; its file is not in this pack"
	}
	for _, cert := range p.in {
		out[cert.ID] = states[cert.ID].Words()
	}
	return out
}

// inHand lists the certificates of all lines, each once.
func inHand(people []Packed) (out []groundhand.CertificateID) {
	for _, p := range people {
		for _, l := range p.Lines {
			if l.CertificateID != "" && !slices.Contains(out, l.CertificateID) {
				out = append(out, l.CertificateID)
			}
		}
	}
	return out
}

func (p pack) summary() PackedUp {
	out := PackedUp{People: len(p.people), Certificates: len(p.in)}
	for _, one := range p.people {
		if one.Good {
			out.Good++
		}
		if one.Misses() {
			out.Missing = append(out.Missing, one.WorkerID)
		}
	}
	return out
}

// Names inside a pack. The certificates stand in a folder of their own, so that a verifier looks at them and at nothing else.
const (
	packReadme = "README.txt"
	peoplePage = "people.pdf"
	peopleList = "people.csv"
	packFolder = "export/"
)

func (p pack) bundle() (paper.Bundle, error) {
	out, err := p.selection.bundle()
	if err != nil {
		return out, err
	}
	var page bytes.Buffer
	if err := paper.WritePeople(&page, p.list); err != nil {
		return out, err
	}
	list, err := paper.PeopleCSV(p.list)
	out.Folder = packFolder
	out.Extra = []paper.File{{Name: packReadme, Data: []byte(p.about())}, {Name: peoplePage, Data: page.Bytes()}, {Name: peopleList, Data: list}}
	return out, err
}

// person puts a person into the words that leave the house.
func (b book) person(one Packed, states map[groundhand.CertificateID]string) paper.Person {
	out := paper.Person{Name: one.Name, Good: one.Good}
	if len(one.Lines) == 0 {
		out.Note = outsideReason(one.Because, 0)
	}
	for _, l := range one.Lines {
		line := paper.PersonLine{Method: methodWords[l.Method], Role: roleWords[l.Role], Good: l.Good(), Note: outsideReason(l.Because, l.LastGoodDay)}
		if l.Method == groundhand.FirstAid || l.Method == groundhand.Familiarisation {
			line.Role = "" // whoever has it has all of it
		}
		if l.FamilyID != "" {
			line.Family = familyWords(b.families, l.FamilyID)
		}
		switch {
		case !l.Good():
		case l.CertificateID != "":
			line.LastGoodDay, line.Certificate, line.State = l.LastGoodDay, string(l.CertificateID), states[l.CertificateID]
		default:
			line.LastGoodDay, line.Note = l.LastGoodDay, "no certificate issued"
		}
		out.Lines = append(out.Lines, line)
	}
	return out
}

// outsideReason is why somebody is not good, in words that may leave the house; empty for who is. A suspension, an absence, a grade and an
// acceptance on paper are the employer's and the person's own matter, and the last good day beside them would tell them apart.
func outsideReason(because rollcall.NotGood, last groundhand.Date) string {
	switch because {
	case "":
		return ""
	case rollcall.BecauseNever, rollcall.BecauseNoCredit, rollcall.BecauseNotKnown:
		return "no practice on record under these rules"
	case rollcall.BecauseOver, rollcall.BecauseGrace, rollcall.BecauseExtended:
		return "last good day was " + last.Words()
	}
	return "not current at present: ask the employer"
}
