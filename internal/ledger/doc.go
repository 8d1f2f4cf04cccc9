// Package ledger makes the log of all entries provable: it turns an entry into the bytes of a leaf, keeps the hashes of a Merkle tree over
// the leaves, and signs how far the log has come. Who has kept an old checkpoint can prove that nothing before it was changed since. The
// tree is that of RFC 6962 section 2.1, the checkpoint that of C2SP tlog-checkpoint, signed as a C2SP signed-note with Ed25519; hashes,
// proofs and signatures are those of golang.org/x/mod/sumdb.
//
// # How to check the log without this program
//
// The log is in the table leaves: n counts from 0, kind is the name of a table and entry_id the id of a row in it (of a row of acts:
// account_id, a slash, key). Every row of every table but tokens has one leaf. The bytes of a leaf are canonical JSON (RFC 8785):
//
//	{"entry":{"author_id":"w1","happened_on":"2025-06-02",…},"kind":"yards"}
//
// entry holds the columns of the row, sorted by name, with these values:
//
//   - INTEGER: a number; beyond ±(2^53-1), which JSON does not carry exactly, its decimal figures as text.
//   - TEXT: the text. Text that is not UTF-8, or that begins with "hex:", is "hex:" and its bytes in lower-case hexadecimal.
//   - NULL, 0, empty text and the empty list [] say nothing: the column is left out. So a column that is added later with such a default
//     changes no older leaf.
//   - A sealed column: "sealed:" and a SHA-256 in lower-case hexadecimal, of 16 random bytes (the salt) followed by the text. Salt and
//     digest stand in the table seals under n and the column's name. Sealed are workers.number, worker_names.name, worker_numbers.number,
//     aliases.name, certificates.person_name, certificates.assessor_name, certificates.signed, unavailability_reasons.reason and
//     import_rows.cells.
//     When a person's names are erased, the salt becomes NULL and the column the code of the erasure (import_rows.cells: a list of the
//     code alone); the digest stays, so the leaf still proves everything else.
//
// The hash of a leaf is SHA-256 of the byte 0 and these bytes, that of a node SHA-256 of the byte 1 and its two children. leaves.hashes
// holds, 32 bytes each, the hash of the leaf and of every full subtree that it completes, lowest first. The root over the first N leaves
// is that of RFC 6962; a checkpoint names the log (table log_origin), N and the root.
package ledger
