//go:build !linux

package store

// gently runs do. Where threads have no priority of their own it takes its turn
// like all others.
func gently(do func() error) error { return do() }
