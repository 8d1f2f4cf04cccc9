package paper

import (
	"encoding/json"
	"strings"

	"groundhand/internal/groundhand"
)

// SignedFor is a file that says what a sheet says, in the form of a signed credential. Nothing on paper depends on the signature being good.
func SignedFor(s Sheet) []byte {
	type object = map[string]any
	subject := object{
		"identifier":        []object{{"identityHash": s.Person, "identityType": "name"}},
		"licenseNumber":     s.Number,
		"activityStartDate": s.ShownOn.String() + "T00:00:00-06:00",
		"achievement": object{
			"name": s.Title, "criteria": object{"narrative": lines(s.Practice, nil)}, "description": lines(s.Rules, s.Cautions),
		},
	}
	if s.Assessor != "" {
		subject["source"] = object{"name": s.Assessor}
	}
	signed, err := json.Marshal(object{
		"id": "urn:uuid:" + s.CredentialID, "issuer": object{"id": "did:web:records.halverra.example", "name": s.Employer},
		"validFrom": s.IssuedOn.String() + "T21:10:00Z", "validUntil": s.LastGoodDay.String() + "T23:59:59-06:00", "credentialSubject": subject,
		"proof": object{"verificationMethod": "did:web:records.halverra.example#" + s.KeyID, "proofValue": strings.Repeat("z4yW6R9N", 11)},
	})
	if err != nil {
		panic(err)
	}
	return signed
}

func lines(facts []Fact, cautions []string) string {
	var out []string
	for _, f := range facts {
		out = append(out, f.Label+": "+f.Text)
	}
	for _, caution := range cautions {
		out = append(out, "Caution: "+caution)
	}
	return strings.Join(out, "\n")
}

// Sample is a certificate of the invented scenario.
func Sample() Sheet {
	s := Sheet{
		Number: "GH-2024-000318", Person: "Saoirse Kettlewick", Employer: "Halverra Line Services (invented)",
		Title: "Bucket rescue, two on the ground, block-and-tackle kit",
		Practice: []Fact{
			{"Rescue method", "Bucket rescue, two on the ground, block-and-tackle kit"},
			{"Role practised", "lead rescuer"},
			{"Control family", "F1, articulating, lever controls"},
			{"How shown", "practical assessment passed"},
		},
		ShownOn: groundhand.MustDate("2024-06-06"), Assessor: "Grainne Oduya-Marsh", LastGoodDay: groundhand.MustDate("2025-06-05"),
		Rules: []Fact{
			{"Employer on the day", "Halverra Line Services (invented)"},
			{"Rule set", "Halverra house rules, R1 of 1 Jan 2023"},
			{"Last good day", "12 months; the day before the anniversary of the day shown"},
		},
		IssuedOn: groundhand.MustDate("2024-06-10"), Cautions: StandardCautions(), CredentialID: "7b0a5f3e-6c1d-4b86-9a2f-3d5c8e417f60",
		CheckAddress: "https://records.halverra.example/verify/7b0a5f3e-6c1d-4b86-9a2f-3d5c8e417f60",
		KeyID:        "z6MksabQUwScavNEMofbE5kUKfJRHwrhbA4Vr26fkQwXQ5So",
	}
	s.Signed = SignedFor(s)
	return s
}

// Changed is a sample with a change that its signed file knows of.
func Changed(change func(*Sheet)) Sheet {
	s := Sample()
	change(&s)
	s.Signed = SignedFor(s)
	return s
}
