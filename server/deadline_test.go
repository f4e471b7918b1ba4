package server

import (
	"context"
	"runtime"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The reference is context.WithDeadline of Go.
func TestADeadlineIsOneOfContext(t *testing.T) {
	type key struct{}
	for _, waits := range []bool{false, true} {
		for _, tt := range []struct {
			name  string
			sleep time.Duration
			leave bool // the phone hangs up
			end   bool // it is answered
		}{
			{name: "in time", sleep: time.Second},
			{name: "too late", sleep: time.Minute},
			{name: "at the moment", sleep: 30 * time.Second},
			{name: "the phone hangs up", leave: true},
			{name: "answered", end: true},
			{name: "answered, and much later", end: true, sleep: time.Minute},
			{name: "the phone hung up, and much later", leave: true, sleep: time.Minute},
		} {
			synctest.Test(t, func(t *testing.T) {
				parent, leave := context.WithCancel(context.WithValue(t.Context(), key{}, "kept"))
				defer leave()
				at := time.Now().Add(30 * time.Second)
				theirs, stop := context.WithDeadline(parent, at)
				defer stop()
				ours := newDeadline(parent, at)
				defer ours.end()
				for _, c := range []context.Context{theirs, ours} {
					until, ok := c.Deadline()
					assert.Equal(t, at, until)
					assert.True(t, ok)
					assert.NoError(t, c.Err())
					if waits {
						c.Done()
					}
					assert.Equal(t, "kept", c.Value(key{}))
				}
				if tt.leave {
					leave()
				}
				if tt.end {
					stop()
					ours.end()
				}
				time.Sleep(tt.sleep)
				synctest.Wait()
				assert.Equal(t, theirs.Err(), ours.Err(), "%s, waits: %v", tt.name, waits)
				assert.Equal(t, closed(theirs.Done()), closed(ours.Done()), "%s, waits: %v", tt.name, waits)
				assert.Equal(t, theirs.Err(), ours.Err(), "%s, waits: %v, afterwards", tt.name, waits)
			})
		}
	}
}

func closed(done <-chan struct{}) bool {
	select {
	case <-done:
		return true
	default:
		return false
	}
}

func TestWhatIsMadeOfADeadlineEndsWithIt(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		parent, leave := context.WithCancel(t.Context())
		defer leave()
		d := newDeadline(parent, time.Now().Add(time.Second))
		defer d.end()
		before := runtime.NumGoroutine()
		child, stop := context.WithCancel(d)
		defer stop()
		assert.Equal(t, before, runtime.NumGoroutine(), "nobody has to wait for it")
		<-child.Done()
		require.ErrorIs(t, child.Err(), context.DeadlineExceeded)
	})
	synctest.Test(t, func(t *testing.T) {
		sooner, stop := context.WithDeadline(t.Context(), time.Now().Add(time.Second))
		defer stop()
		d := newDeadline(sooner, time.Now().Add(time.Minute))
		defer d.end()
		until, _ := d.Deadline()
		assert.Equal(t, time.Now().Add(time.Second), until)
		time.Sleep(2 * time.Second)
		assert.ErrorIs(t, d.Err(), context.DeadlineExceeded)
	})
}
