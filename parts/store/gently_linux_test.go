package store_test

import (
	"errors"
	"runtime"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/store"
)

// The call gives 20 less the nice value: getpriority(2), "C library/kernel
// differences".
func TestGentlyIsOnAThreadOfLowPriority(t *testing.T) {
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	before, err := syscall.Getpriority(syscall.PRIO_PROCESS, 0)
	require.NoError(t, err)
	loose := errors.New("the wire is loose")
	var meanwhile, thread int
	assert.ErrorIs(t, store.Gently(func() error {
		meanwhile, _ = syscall.Getpriority(syscall.PRIO_PROCESS, 0)
		thread = syscall.Gettid()
		return loose
	}), loose)
	assert.Equal(t, 20-19, meanwhile)
	assert.NotEqual(t, syscall.Gettid(), thread)
	after, err := syscall.Getpriority(syscall.PRIO_PROCESS, 0)
	require.NoError(t, err)
	assert.Equal(t, before, after, "nobody else is slowed down")
}
