package server

import (
	"context"
	"sync"
	"time"
)

// deadline is a context that ends at a time, as context.WithDeadline makes it.
// Its timer is made when somebody first waits for it: what is answered from
// memory, as most scans are, never does.
type deadline struct {
	context.Context // of the request
	at              time.Time

	mu    sync.Mutex
	timed context.Context // nil until somebody waits
	stop  context.CancelFunc
	over  bool // nobody needs it any more
}

func newDeadline(of context.Context, at time.Time) *deadline { return &deadline{Context: of, at: at} }

func (d *deadline) Deadline() (time.Time, bool) {
	if sooner, ok := d.Context.Deadline(); ok && sooner.Before(d.at) {
		return sooner, true
	}
	return d.at, true
}

func (d *deadline) Done() <-chan struct{} {
	d.mu.Lock()
	defer d.mu.Unlock()
	switch {
	case d.timed != nil:
	case d.over:
		d.timed, d.stop = context.WithCancel(d.Context)
		d.stop()
	default:
		d.timed, d.stop = context.WithDeadline(d.Context, d.at)
	}
	return d.timed.Done()
}

func (d *deadline) Err() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	switch err := d.Context.Err(); {
	case d.timed != nil:
		return d.timed.Err()
	case err != nil:
		return err
	case d.over:
		return context.Canceled
	case !time.Now().Before(d.at):
		return context.DeadlineExceeded
	}
	return nil
}

// Value looks where the timer is, so that contexts made of this one end with
// it and need nobody who waits for that.
func (d *deadline) Value(key any) any {
	d.mu.Lock()
	timed := d.timed
	d.mu.Unlock()
	if timed != nil {
		return timed.Value(key)
	}
	return d.Context.Value(key)
}

// end gives back what it holds: whoever still waits is told.
func (d *deadline) end() {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.over = true; d.stop != nil {
		d.stop()
	}
}
