package store

import (
	"runtime"
	"syscall"
)

// lowestNice is the priority that gives way to every other.
const lowestNice = 19

// lowestDisk is the least of the usual class of priorities at the disk: class 2
// above bit 13, level 7 of 0 to 7 (ioprio_set(2)). The idle class might never
// get its turn.
const lowestDisk = 2<<13 | 7

// gently runs do where it holds nobody up who wants the processor or the disk:
// on a thread of low priority. A system that refuses to lower it runs do all the
// same.
func gently(do func() error) error {
	ended := make(chan error, 1)
	go func() {
		runtime.LockOSThread() // and it stays locked: the thread ends with do, as nobody else may have it
		_ = syscall.Setpriority(syscall.PRIO_PROCESS, 0, lowestNice)
		const oneThread, thisOne = 1, 0
		_, _, _ = syscall.Syscall(syscall.SYS_IOPRIO_SET, oneThread, thisOne, lowestDisk)
		ended <- do()
	}()
	return <-ended
}
