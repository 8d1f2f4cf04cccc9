package main

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"groundhand/internal/certificate"
	"groundhand/internal/certificate/keyring"
	"groundhand/internal/demo"
	"groundhand/internal/groundhand"
	"groundhand/internal/rollcall"
	"groundhand/internal/store"
)

// The client of the demonstration, and the month of which it wants the certificates.
const (
	clientC   = "client C, Dunmarrow Ports"
	clientSet = "R-C"
	monthFrom = "2025-03-01"
	monthTo   = "2025-03-31"
)

// signsAs is what certificates of the demonstration are signed with. Their keys come from its seed: everybody can make them again.
func signsAs(dir string) (certificate.Options, error) {
	keys, err := keyring.Open(filepath.Join(dir, keysName))
	return certificate.Options{Name: demoIssuer, Address: demoAddress, Keys: keys, Chance: demo.Chance(demoSeed)}, err
}

// handed is what is written and given out on the evening.
type handed struct {
	written  []groundhand.Certificate // for what was passed since May
	zip      []byte                   // all that stand
	standing int
	port     certificate.Exported // of March, for the client
	note     []string             // lines of README.txt about what is not in that
	pack     []byte               // for the client, about the people at its gate
	packed   certificate.PackedUp
	packedOn groundhand.Date
}

// handOut writes the certificates that are missing and gives out, as HR does: all that stand, those of March for the client, and the pack about
// the people at its gate.
func (h *house) handOut(ctx context.Context, cast demo.Cast) (handed, error) {
	var out handed
	var err error
	if out.written, err = h.certify(ctx, cast); err != nil {
		return out, err
	}
	var all, port bytes.Buffer
	by := cast.Account(groundhand.HR)
	done, err := h.certificates.Export(ctx, by, certificate.Filter{}, &all, nil)
	if err != nil {
		return out, err
	}
	march := certificate.Filter{ShownFrom: groundhand.MustDate(monthFrom), ShownThrough: groundhand.MustDate(monthTo), Client: clientC}
	if out.port, err = h.certificates.Export(ctx, by, march, &port, nil); err != nil {
		return out, err
	}
	out.zip, out.standing = all.Bytes(), done.Certificates
	if out.note, err = noteIn(port.Bytes()); err != nil {
		return out, err
	}
	var pack bytes.Buffer
	out.packedOn = h.roll.Today() + 1
	out.packed, err = h.certificates.Pack(ctx, by, certificate.PackQuestion{People: demo.AtTheGate(cast), RuleSet: clientSet, On: out.packedOn}, &pack, nil)
	out.pack = pack.Bytes()
	return out, err
}

// certify writes a certificate for every pass since the beginning of May that stands and counts.
func (h *house) certify(ctx context.Context, cast demo.Cast) ([]groundhand.Certificate, error) {
	passes, err := store.Standing[groundhand.Assessment](ctx, h.records)
	if err != nil {
		return nil, err
	}
	var out []groundhand.Certificate
	for _, a := range passes {
		if a.Result != groundhand.Pass || a.HappenedOn < groundhand.MustDate("2025-05-01") {
			continue
		}
		made, err := h.certificates.Issue(ctx, cast.Account(groundhand.Coordinator), "certificate "+string(a.ID), a.ID, "")
		if len(groundhand.Refusals(err)) > 0 {
			continue // it does not count, for a reason that the certificate would have to hide
		}
		if err != nil {
			return nil, err
		}
		out = append(out, made)
	}
	return out, nil
}

// noteIn gives the lines of the README.txt of an export that say what is not in it.
func noteIn(export []byte) ([]string, error) {
	z, err := zip.NewReader(bytes.NewReader(export), int64(len(export)))
	if err != nil {
		return nil, err
	}
	readme, err := z.Open("README.txt")
	if err != nil {
		return nil, err
	}
	defer readme.Close()
	text, err := io.ReadAll(readme)
	_, after, _ := strings.Cut(string(text), "\nNOT IN THIS EXPORT\n")
	part, _, _ := strings.Cut(after, "\nBEFORE YOU RELY")
	var out []string
	for line := range strings.Lines(part) {
		if line = strings.TrimSpace(line); line != "" {
			out = append(out, line)
		}
	}
	return out, err
}

// keep writes the export and the pack beside the records.
func (o handed) keep(dir string) error {
	return errors.Join(writeOut(filepath.Join(dir, certificatesName), o.zip), writeOut(filepath.Join(dir, packName), o.pack))
}

func (e *evening) certified(s *sheet) {
	s.heading(fmt.Sprintf("Certificates written: %d", len(e.handed.written)))
	for _, c := range e.handed.written {
		s.text(2, "%s  %-24s %s, shown %s, last good day %s", c.ID, c.PersonName, rollcall.MethodWords(string(c.Method))+" as "+strings.ToLower(string(c.Role))+family(string(c.FamilyID)),
			c.ShownOn.Words(), c.LastGoodDay.Words())
	}
	h := e.handed
	s.text(2, "HR exports what was shown in March 2025 for %s: %d certificates. Its README.txt says what is not in it:", clientC, h.port.Certificates)
	for _, line := range h.note {
		s.text(4, "%s", line)
	}
	s.text(2, "%s is what the client is handed about %d people named for %s: good by its rules %d, certificates %d. Certificates could be issued and are missing for: %s.",
		packName, h.packed.People, h.packedOn.Words(), h.packed.Good, h.packed.Certificates, e.missing())
	s.text(2, "%s holds the %d certificates that stand. Any verifier for Verifiable Credentials 2.0 or Open Badges 3.0 checks them, without this program and without "+
		"a network; README.txt in it gives a command.", certificatesName, h.standing)
	s.text(2, "Whoever holds a certificate reads on the check page whether it is valid, no longer current, replaced or withdrawn, and nobody's name. Without --once this "+
		"machine answers for %s, which is invented.", demoAddress)
	s.text(2, "The key that signs is made from the seed of the demonstration, and everybody can make it again: it is for the demonstration only, and what it signs proves "+
		"nothing.")
	s.text(2, "A certificate is the employer's own record and no licence. "+caution)
}

// missing names those of the pack who lack a certificate that could be issued.
func (e *evening) missing() string {
	var names []string
	for _, who := range e.handed.packed.Missing {
		names = append(names, e.names[who])
	}
	if len(names) == 0 {
		return "nobody"
	}
	return strings.Join(names, ", ")
}
