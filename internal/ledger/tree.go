package ledger

import (
	"errors"
	"fmt"
	"math/bits"

	"golang.org/x/mod/sumdb/tlog"
)

// Hash is a SHA-256 of the tree.
type Hash = tlog.Hash

// LeafHash is the hash of a leaf's bytes.
func LeafHash(record []byte) Hash { return tlog.RecordHash(record) }

// Frontier is the right edge of a tree: its size and the roots of the full subtrees it is made of. It is all that is needed to add leaves
// and to tell the root. The zero Frontier is that of the empty log; copies do not share anything.
type Frontier struct {
	size  int64
	peaks [63]Hash // by level; those of the set bits of size count
}

// Size is the number of leaves.
func (f *Frontier) Size() int64 { return f.size }

// Add adds a leaf by its hash and gives the hashes it completes, its own first, as they are stored with it.
func (f *Frontier) Add(leaf Hash) []Hash {
	done, err := tlog.StoredHashesForRecordHash(f.size, leaf, f)
	if err != nil {
		panic(err) // only the frontier is asked, which has what is asked for
	}
	f.peaks[len(done)-1] = done[len(done)-1]
	f.size++
	return done
}

// Root is the root of the tree.
func (f *Frontier) Root() Hash {
	root, err := tlog.TreeHash(f.size, f)
	if err != nil {
		panic(err) // as in Add
	}
	return root
}

// ReadHashes gives peaks, for the functions that ask for hashes by where they are stored.
func (f *Frontier) ReadHashes(indexes []int64) ([]Hash, error) {
	out := make([]Hash, len(indexes))
	for i, index := range indexes {
		level, n := tlog.SplitStoredHashIndex(index)
		if f.size>>level&1 == 0 || n != f.size>>level-1 {
			return nil, fmt.Errorf("the hash %d of level %d is no peak of %d leaves", n, level, f.size)
		}
		out[i] = f.peaks[level]
	}
	return out, nil
}

// Place is where a hash is stored: with a leaf, at a level.
type Place struct {
	Leaf  int64
	Level int
}

// PlaceOf tells with which leaf the hash of a stored index was completed.
func PlaceOf(index int64) Place {
	level, n := tlog.SplitStoredHashIndex(index)
	return Place{Leaf: (n+1)<<level - 1, Level: level}
}

// Edge gives the frontier of a log of some size, from hashes read by where they are stored.
func Edge(size int64, read tlog.HashReader) (Frontier, error) {
	f := Frontier{size: size}
	var indexes []int64
	var levels []int
	for rest := uint64(size); rest != 0; {
		level := bits.Len64(rest) - 1
		rest &^= 1 << level
		levels = append(levels, level)
		indexes = append(indexes, tlog.StoredHashIndex(level, size>>level-1))
	}
	hashes, err := read.ReadHashes(indexes)
	if err != nil {
		return Frontier{}, err
	}
	for i, h := range hashes {
		f.peaks[levels[i]] = h
	}
	return f, nil
}

// Inclusion proves that a leaf is in a log of some size, as RFC 6962 section 2.1.1 has it.
type Inclusion struct {
	N      int64  // of the leaf
	Record []byte // the leaf's bytes
	Proof  []Hash
	Size   int64
	Root   Hash
}

// Include proves leaf n of a log.
func Include(n int64, record []byte, size int64, read tlog.HashReader) (Inclusion, error) {
	proof, err := tlog.ProveRecord(size, n, read)
	if err != nil {
		return Inclusion{}, err
	}
	root, err := tlog.TreeHash(size, read)
	return Inclusion{N: n, Record: record, Proof: proof, Size: size, Root: root}, err
}

// Check is nil when the proof holds.
func (i Inclusion) Check() error {
	return wrong(tlog.CheckRecord(i.Proof, i.Size, i.Root, i.N, LeafHash(i.Record)))
}

// ErrNotProven says that a proof does not hold.
var ErrNotProven = errors.New("the proof does not hold")

func wrong(err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("%w: %w", ErrNotProven, err)
}

// Continue proves that a log of some size begins with the log it was at an older size (RFC 6962 section 2.1.2).
func Continue(older, size int64, read tlog.HashReader) ([]Hash, error) {
	if older == 0 || older == size {
		return nil, nil
	}
	return tlog.ProveTree(size, older, read)
}

// CheckContinued is nil when a proof holds that a checkpoint's log begins with an older one's.
func CheckContinued(proof []Hash, older, newer Checkpoint) error {
	switch {
	case older.Origin != newer.Origin, older.Size > newer.Size, older.Size == newer.Size && older.Root != newer.Root:
		return ErrNotProven
	case older.Size == 0 || older.Size == newer.Size:
		return nil
	}
	return wrong(tlog.CheckTree(proof, newer.Size, newer.Root, older.Size, older.Root))
}
