package competence

import "math"

// everything is the moment as known of a question that wants all that is recorded.
const everything = math.MaxInt64

// namers lists for each entry the withdrawals and corrections that name it, as chains: first of an entry, then next of each.
// Each was recorded after what it names, so that following them ends.
type namers struct{ first, next []int32 }

const nobody = -1

func namersOf(entries []Entry, byID map[string]int32) namers {
	n := namers{make([]int32, len(entries)), make([]int32, len(entries))}
	for i := range entries {
		n.first[i], n.next[i] = nobody, nobody
	}
	for i := range entries {
		if id := entries[i].names(); id != "" {
			target := byID[id]
			n.next[i], n.first[target] = n.first[target], int32(i)
		}
	}
	return n
}

// setAside says why an entry does not stand with what was known at a moment; empty when it stands.
func (b *Book) setAside(i int32, known int64) Reason {
	switch {
	case b.when[i].recorded > known:
		return NotYetKnown
	case b.namers.first[i] == nobody:
		return ""
	case b.withdrawn(i, known):
		return Withdrawn
	case b.replaced(i, known):
		return Replaced
	}
	return ""
}

// withdrawn: a known withdrawal that is not itself withdrawn names the entry.
func (b *Book) withdrawn(i int32, known int64) bool {
	for x := b.namers.first[i]; x != nobody; x = b.namers.next[x] {
		if b.entries[x].Kind == Withdrawal && b.when[x].recorded <= known && !b.withdrawn(x, known) {
			return true
		}
	}
	return false
}

// replaced: a known correction names the entry. It stops replacing only if it was withdrawn without having been replaced itself,
// so that in a chain of corrections the last one stands alone, and withdrawing it brings back the one before.
func (b *Book) replaced(i int32, known int64) bool {
	for x := b.namers.first[i]; x != nobody; x = b.namers.next[x] {
		if b.entries[x].Kind == Withdrawal || b.when[x].recorded > known {
			continue
		}
		if !b.withdrawn(x, known) || b.replaced(x, known) {
			return true
		}
	}
	return false
}
