// Package credential makes and reads the signed file that a certificate is: a W3C Verifiable Credential 2.0 in the vocabulary of Open
// Badges 3.0 with one eddsa-rdfc-2022 proof, and beside it the document of an issuer's keys and the list of what was taken back.
// The signed bytes are the truth; paper and pages only render them. It is pure: keys, moments and documents come from the caller.
//
// Sources: W3C Verifiable Credentials Data Model 2.0, Data Integrity EdDSA Cryptosuites 1.0, Bitstring Status List 1.0 and Controlled
// Identifiers 1.0 (all of 15 May 2025), Open Badges 3.0, and the did:web and did:key methods.
package credential
