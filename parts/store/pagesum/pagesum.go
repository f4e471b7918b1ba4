// Package pagesum lets SQLite keep a sum in every page of a database file, and
// refuse a page that does not agree with its own: what a disk changed is found
// when it is read, to the bit. It owns the operating system layer that does so
// and the form of the sum, and looks over files that nobody has open; it knows
// nothing of what is in them. The write-ahead log has sums of SQLite's own;
// what a commit adds to it is written in one call, and synced without the
// file's dates (wal.c).
//
// The last eight bytes of a page are reserved for this (byte 20 of a file's
// header says so): the mark "sum1", and a CRC-32C, most significant byte first,
// of the page up to there and the page's number in four bytes. The polynomial
// and its check values: RFC 3720, B.4. It finds every change of one, two or
// three bits of a page, every one within 32 neighbouring bits, and any other
// but one in four thousand million. The number finds a page that was written in
// the place of another, and the mark makes a page of zeros a wrong one. A file
// without the reserved bytes, of an older program, is read and written as it is
// until it is vacuumed while it has a write-ahead log; without one SQLite may
// write a page before the header that says it has a sum.
package pagesum

/*
#cgo darwin LDFLAGS: -Wl,-undefined,dynamic_lookup
#include "pagesum.h"
*/
import "C"

import (
	"fmt"

	_ "github.com/mattn/go-sqlite3" // the SQLite that the layer is made known to
)

// VFS is what an address says to open a file with sums: vfs=pagesum.
const VFS = "pagesum"

func init() {
	// The name must stay where it is for as long as the program runs.
	if code := C.pagesum_register(C.CString(VFS)); code != 0 {
		panic(fmt.Sprintf("pagesum: SQLite does not take the layer: code %d", code))
	}
}
