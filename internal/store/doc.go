// Package store keeps the vocabulary in a SQLite file: it appends records, finds them again and turns what the database refuses into
// coded errors. It judges nothing. It is the only package that knows gorm, the driver and the migrations; none of them leaves it.
//
// Rules of the house for queries: conditions are text with arguments, never structs (a zero field would match everything); nothing is
// updated but a token's revocation, with its column named and the number of rows looked at; lists of keys travel as one JSON argument,
// so that the statement is the same for one key and for a thousand.
package store
