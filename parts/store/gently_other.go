//go:build !linux

package store

// gently does what takes long. Elsewhere a thread has no priority of its own.
func gently(do func() error) error { return do() }
