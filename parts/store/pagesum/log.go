package pagesum

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
)

// The write-ahead log: https://www.sqlite.org/fileformat2.html#the_write_ahead_log.
// All numbers are in four bytes, the most significant first.
const (
	logHeader    = 32
	frameHeader  = 24
	atLogSize    = 8  // of a page, in the log's header
	atLogSalt    = 16 // eight bytes, in the log's header
	atLogSum     = 24 // two sums, in the log's header
	atCommit     = 4  // in a frame's header, not 0 for the last frame of a transaction
	atSalt       = 8  // the log's salt again, in the header of each frame that counts
	atFrameSum   = 16 // two sums, in a frame's header
	bigEndianLog = 0x377f0683
)

// BrokenLog reports whether a database file's write-ahead log is damaged in
// its middle: a transaction that was on the disk, because another was written
// after it, cannot be read. SQLite would take the log to end before it, and
// what was recorded since would be gone without a word. A log whose end alone
// cannot be read is what a power cut leaves of a transaction that nobody was
// told of; that a disk changed just the last one, or the end of the last but
// one, cannot be told from it.
func BrokenLog(file string) (bool, error) {
	first, err := brokenLog(file + "-wal")
	if first == nil || err != nil {
		return false, err
	}
	// Somebody who has the file open may have begun the log anew meanwhile.
	again, err := brokenLog(file + "-wal")
	return again != nil && bytes.Equal(first, again), err
}

// brokenLog gives the header of a log that is broken, nil for none.
func brokenLog(name string) ([]byte, error) {
	log, err := os.ReadFile(name)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("look over the log: %w", err)
	}
	if len(log) < logHeader {
		return nil, nil
	}
	head := log[:logHeader]
	size := int(binary.BigEndian.Uint32(head[atLogSize:]))
	if sums := logSum(head, [2]uint32{}, head[:atLogSum]); sums != sumsAt(head, atLogSum) || size < 512 || size > 1<<16 {
		if len(log) == logHeader || len(bytes.TrimLeft(head, "\x00")) == 0 {
			return nil, nil
		}
		return head, nil
	}
	wrong, commit := false, false // a frame was wrong; the one before this ended a transaction
	sums := sumsAt(head, atLogSum)
	for at := logHeader; at+frameHeader+size <= len(log); at += frameHeader + size {
		frame := log[at : at+frameHeader+size]
		said := sumsAt(frame, atFrameSum)
		counts := bytes.Equal(frame[atSalt:atSalt+8], head[atLogSalt:atLogSalt+8])
		right := counts && said == logSum(head, logSum(head, sums, frame[:atSalt]), frame[frameHeader:])
		if right && wrong && commit {
			return head, nil
		}
		wrong = wrong || !right
		commit = counts && binary.BigEndian.Uint32(frame[atCommit:]) != 0
		sums = said // each frame's sum goes on from the one before
	}
	return nil, nil
}

func sumsAt(b []byte, at int) [2]uint32 {
	return [2]uint32{binary.BigEndian.Uint32(b[at:]), binary.BigEndian.Uint32(b[at+4:])}
}

// logSum goes on with the two sums of a log over more of it; its header says
// in which order the bytes of a word are read.
func logSum(head []byte, sums [2]uint32, data []byte) [2]uint32 {
	var order binary.ByteOrder = binary.LittleEndian
	if binary.BigEndian.Uint32(head) == bigEndianLog {
		order = binary.BigEndian
	}
	for ; len(data) >= 8; data = data[8:] {
		sums[0] += order.Uint32(data) + sums[1]
		sums[1] += order.Uint32(data[4:]) + sums[0]
	}
	return sums
}

// notInLog leaves out the pages that a write-ahead log has.
func notInLog(pages []uint32, log string) ([]uint32, error) {
	f, err := os.Open(log)
	if errors.Is(err, fs.ErrNotExist) {
		return pages, nil
	}
	if err != nil {
		return nil, fmt.Errorf("look over the log: %w", err)
	}
	defer f.Close()
	head := make([]byte, logHeader)
	if _, err := io.ReadFull(f, head); err != nil {
		return pages, nil // it is empty
	}
	size := int64(binary.BigEndian.Uint32(head[atLogSize:]))
	there := map[uint32]bool{}
	frame := make([]byte, frameHeader)
	for at := int64(logHeader); ; at += frameHeader + size {
		if _, err := f.ReadAt(frame, at); err != nil {
			break
		}
		if bytes.Equal(frame[atSalt:atSalt+8], head[atLogSalt:atLogSalt+8]) {
			there[binary.BigEndian.Uint32(frame)] = true
		}
	}
	return slices.DeleteFunc(pages, func(n uint32) bool { return there[n] }), nil
}
