package store

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"syscall"
)

// gentle is the niceness of work that can wait; the scale is that of nice(2).
const gentle = 15

// gently does what takes long with little claim to the processor, so that
// scans go first. It has a thread of its own for that, which ends with it: the
// priority of a thread cannot be raised again.
func gently(do func() error) error {
	done := make(chan error, 1)
	go func() {
		runtime.LockOSThread() // and never unlocked: so the thread ends
		defer func() {
			if r := recover(); r != nil {
				done <- fmt.Errorf("panic: %v\n%s", r, debug.Stack())
			}
		}()
		syscall.Setpriority(syscall.PRIO_PROCESS, syscall.Gettid(), gentle) // as well as it can
		done <- do()
	}()
	return <-done
}
