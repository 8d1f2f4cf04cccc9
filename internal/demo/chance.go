package demo

import (
	"encoding/binary"
	"io"
	"math/rand/v2"
	"sync"
)

// Chance gives the same bytes for the same seed: signing keys, the ids of certificates and their places in the list of what was withdrawn. Whoever
// knows the seed makes the same keys, so nothing that is signed with them proves anything outside the demonstration.
func Chance(seed uint64) io.Reader {
	var s [32]byte
	binary.LittleEndian.PutUint64(s[:], seed)
	return &stream{from: rand.NewChaCha8(s)}
}

// stream may be read from by several at once.
type stream struct {
	mu   sync.Mutex
	from *rand.ChaCha8
}

func (s *stream) Read(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.from.Read(p)
}
