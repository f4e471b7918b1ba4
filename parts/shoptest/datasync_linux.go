package shoptest

import (
	"os"
	"syscall"
)

// datasync waits until what was written is on the disk, as SQLite does.
func datasync(f *os.File) error { return syscall.Fdatasync(int(f.Fd())) }
