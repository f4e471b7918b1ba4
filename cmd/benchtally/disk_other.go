//go:build !unix

package main

// onOneDisk reports whether a file and a folder are known to be on one disk.
func onOneDisk(string, string) bool { return false }
