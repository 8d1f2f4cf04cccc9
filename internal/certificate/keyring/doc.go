// Package keyring keeps the private keys that sign certificates: each in a file of its own in one folder, apart from the records, so that neither a
// copy of the records nor an export holds one. What others on the machine could read or put in is refused, with the command that puts it right.
//
// A file is PEM with a PKCS #8 private key of Ed25519 (RFC 5958, RFC 8410), named after its public key: z6Mk….pem. Files keep mode 0600, the folder 0700.
package keyring
