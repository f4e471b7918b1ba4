package store

import "sync"

// watchers are told after each commit that something changed. They are not
// told what: they look again.
type watchers struct {
	mu  sync.Mutex
	all map[chan struct{}]bool
}

// Watch gives a channel that receives after commits. Several commits may give
// one signal. stop ends it.
func (s *Store) Watch() (signal <-chan struct{}, stop func()) {
	c := make(chan struct{}, 1)
	w := &s.watchers
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.all == nil {
		w.all = map[chan struct{}]bool{}
	}
	w.all[c] = true
	return c, func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		delete(w.all, c)
	}
}

func (w *watchers) changed() {
	w.mu.Lock()
	defer w.mu.Unlock()
	for c := range w.all {
		select {
		case c <- struct{}{}:
		default:
		}
	}
}
