package web

import (
	"groundhand/internal/certificate"
	"groundhand/internal/certificate/credential"
)

// verdict is an answer as it is told: a shape and a word that need no colour, a sentence what to do, and since when, where that matters.
type verdict struct{ Shape, Word, Do, Since string }

// stateWords tell the five states. None says why, and none says where a newer certificate is.
var stateWords = map[certificate.State]verdict{
	certificate.Valid:           {Shape: "disc", Word: "Valid", Do: "This certificate stands as it was issued. Compare number, training and dates with the certificate in your hand; if anything differs, do not rely on it and ask the issuer."},
	certificate.NoLongerCurrent: {Shape: "half", Word: "No longer current", Do: "This certificate was issued here and was not withdrawn, but it does not count as current today. Ask the holder or the issuer for newer evidence."},
	certificate.Replaced:        {Shape: "sheets", Word: "Replaced", Do: "Another certificate was issued in place of this one, which no longer counts. Ask the holder for the current one."},
	certificate.Withdrawn:       {Shape: "cross", Word: "Withdrawn", Do: "The issuer took this certificate back. Do not rely on it. If you have questions, ask the issuer."},
	certificate.NotKnown: {Shape: "question", Word: "Not known", Do: "Nothing is known here under this address. Scan the code again, or compare every letter and figure of the address with the one printed. " +
		"If it stays not known, do not rely on the paper and ask the employer named on it."},
}

// problemWords tell what is wrong with a file.
var problemWords = map[string]verdict{
	certificate.Foreign:               {Shape: "question", Word: "Not issued here", Do: "This file names another issuer, so nothing can be said about it here. Use a general verifier for W3C Verifiable Credentials 2.0 or Open Badges 3.0, or the check address printed on it."},
	string(credential.Changed):        {Shape: "triangle", Word: "Changed", Do: "The content of this file is not what was signed: something in it was altered, added or left out after it was issued. Do not rely on it. Ask the holder for the file as it was issued, or the issuer."},
	string(credential.UnknownKey):     {Shape: "triangle", Word: "Wrong key", Do: "This file names this issuer but was signed with a key that the issuer does not stand by. Do not rely on it and ask the issuer."},
	string(credential.UnknownIssuer):  {Shape: "question", Word: "Not issued here", Do: "Who issued this file cannot be told here. Use a general verifier for W3C Verifiable Credentials 2.0 or Open Badges 3.0."},
	string(credential.OtherKind):      {Shape: "triangle", Word: "Another kind of file", Do: "This is another kind of file than the certificates issued here. If it is signed, use a general verifier for W3C Verifiable Credentials 2.0 or Open Badges 3.0."},
	certificate.NotRecorded:           {Shape: "triangle", Word: "Not on record", Do: "This file bears the issuer's signature, but the issuer's records know no such certificate. Do not rely on it, and tell the issuer."},
	string(credential.NotSigned):      {Shape: "triangle", Word: "Not signed", Do: "This file has the form of a certificate but no signature, so anybody may have written it. Do not rely on it. Ask the holder for the file as it was issued."},
	certificate.NothingInside:         {Shape: "triangle", Word: "No certificate found", Do: "No signed file is attached to this PDF. " + sendOriginal},
	string(credential.NotACredential): {Shape: "triangle", Word: "No certificate found", Do: "There is no signed certificate in this file. " + sendOriginal},
	certificate.NotReadable:           {Shape: "triangle", Word: "Cannot be read", Do: "This PDF is damaged, locked or far larger than a certificate. " + sendOriginal},
}

const sendOriginal = "Send the PDF as it was issued, not a photograph, scan or reprint of it, or the JSON file that is attached to it."

// unknownProblem is for a problem that has no words of its own.
var unknownProblem = verdict{Shape: "triangle", Word: "Cannot be checked", Do: "This file cannot be checked here. Do not rely on it as it is; ask the holder for the file as it was issued, or the issuer."}

// cautions stand beside every verdict.
var cautions = []string{
	"A certificate is the employer's record that a practice was shown on a day. It is no licence.",
	"It does not say that a person, crew, device or kit is fit for today's job, and this page never says that a law is met.",
	"Local rules, the makers' instructions and licensed practice come first.",
}

// dated are the states that began on a day worth telling.
var dated = map[certificate.State]bool{certificate.Replaced: true, certificate.Withdrawn: true}
