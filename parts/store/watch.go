package store

import "sync"

// watchers are told after each commit that something changed, of this server
// or of another one on the same database. They are not told what: they look
// again.
type watchers struct {
	mu     sync.Mutex
	all    map[chan struct{}]bool
	office []func()
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

// OnOffice has forget called after each commit that changed more than the
// history of parts: settings, stations, formats, people, phones and the like.
// It is called before those who asked for the commit get their answer, and for
// commits of other servers as soon as they are heard of. forget drops what it
// keeps in memory; it must not wait for anything, nor ask the store.
func (s *Store) OnOffice(forget func()) {
	w := &s.watchers
	w.mu.Lock()
	defer w.mu.Unlock()
	w.office = append(w.office, forget)
}

// told tells of a commit; office says that more than the history of parts has
// changed.
func (w *watchers) told(office bool) {
	if office {
		w.mu.Lock()
		for _, forget := range w.office {
			forget()
		}
		w.mu.Unlock()
	}
	w.changed()
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
