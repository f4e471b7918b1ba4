//go:build !linux

package shoptest

import "os"

// datasync waits until what was written is on the disk; where there is no
// fdatasync, with more than that.
func datasync(f *os.File) error { return f.Sync() }
