//go:build unix

package main

import (
	"os"
	"path/filepath"
	"syscall"
)

// onOneDisk reports whether a file and a folder are known to be on one disk.
func onOneDisk(file, folder string) bool {
	disk := func(path string) (uint64, bool) {
		info, err := os.Stat(path)
		if err != nil {
			return 0, false
		}
		s, ok := info.Sys().(*syscall.Stat_t)
		if !ok {
			return 0, false
		}
		return uint64(s.Dev), true
	}
	one, known := disk(filepath.Dir(file))
	other, alsoKnown := disk(folder)
	return known && alsoKnown && one == other
}
