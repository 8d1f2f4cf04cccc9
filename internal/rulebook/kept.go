package rulebook

import "sync"

// mostKept bounds the bodies that are kept. Rule sets are few; who tries out more than that reads anew.
const mostKept = 64

// kept are bodies that were read without a fault.
var kept shelf

type shelf struct {
	mu    sync.RWMutex
	rules map[string]Rules
}

func (s *shelf) get(text string) (Rules, bool) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	r, known := s.rules[text]
	return r, known
}

func (s *shelf) put(text string, r Rules) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.rules == nil || len(s.rules) >= mostKept {
		s.rules = map[string]Rules{}
	}
	s.rules[text] = r
}
