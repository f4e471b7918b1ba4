package pagesum

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"slices"
	"time"
)

// Places in the header of a database file: https://www.sqlite.org/fileformat2.html.
const (
	headerSize = 100
	atPageSize = 16 // two bytes; 1 stands for 65536
	atReserved = 20 // one byte
	atPages    = 28 // four bytes
	atFree     = 32 // four bytes: the first page of the list of those in no use
)

// reserved is the bytes at the end of a page for its sum, half of them the mark.
const reserved = 8

// lockByte lies in a page that SQLite never writes.
const lockByte = 1 << 30

var (
	magic      = []byte("SQLite format 3\x00")
	mark       = []byte("sum1")
	castagnoli = crc32.MakeTable(crc32.Castagnoli)
)

// Pages is what Look found in a file.
type Pages struct {
	Number int      // of pages there should be; 0 for a file without sums
	Wrong  []uint32 // the numbers of those that do not agree with their sums, or are missing
}

// Look compares every page of a database file with its sum, those that are in
// no use too. It reads the file itself, not what SQLite remembers of it, and it
// may be in use: a page that the write-ahead log has as well is not judged,
// because SQLite reads it there and will write it again.
func Look(file string) (Pages, error) {
	f, err := os.Open(file)
	if err != nil {
		return Pages{}, fmt.Errorf("look over the pages: %w", err)
	}
	defer f.Close()
	size, number := readHeader(f)
	if number == 0 {
		return Pages{}, nil // SQLite says what it is instead
	}
	wrong, err := wrongPages(f, size, number)
	for again := 0; err == nil && len(wrong) > 0; again++ {
		if wrong, err = notInLog(wrong, file+"-wal"); err != nil || len(wrong) == 0 || again == 3 {
			break
		}
		time.Sleep(time.Millisecond) // somebody may be writing them
		page := make([]byte, size)
		wrong = slices.DeleteFunc(wrong, func(n uint32) bool { return read(f, page, n) && right(page, n) })
	}
	if len(wrong) > 0 {
		unused := neverWritten(f, size, number)
		wrong = slices.DeleteFunc(wrong, func(n uint32) bool { return unused[n] })
	}
	return Pages{number, wrong}, err
}

// read reads a whole page, if it is there.
func read(f *os.File, page []byte, number uint32) bool {
	_, err := f.ReadAt(page, int64(number-1)*int64(len(page)))
	return err == nil
}

// Has reports whether a database file has sums.
func Has(file string) (bool, error) {
	f, err := os.Open(file)
	if err != nil {
		return false, fmt.Errorf("look for sums: %w", err)
	}
	defer f.Close()
	_, number := readHeader(f)
	return number > 0, nil
}

// readHeader gives the size of a page in bytes and how many there should be, as
// many as there are if the first page is wrong itself; none for what is no
// database file with sums.
func readHeader(f *os.File) (size, number int) {
	head := make([]byte, headerSize)
	if _, err := io.ReadFull(f, head); err != nil || !bytes.HasPrefix(head, magic) || head[atReserved] != reserved {
		return 0, 0
	}
	size = int(binary.BigEndian.Uint16(head[atPageSize:]))
	if size == 1 {
		size = 1 << 16
	}
	if size < 512 || size&(size-1) != 0 {
		return 0, 0
	}
	page := make([]byte, size)
	if read(f, page, 1) && right(page, 1) {
		return size, int(binary.BigEndian.Uint32(head[atPages:]))
	}
	info, err := f.Stat()
	if err != nil {
		return 0, 0
	}
	return size, int(info.Size()+int64(size)-1) / size
}

// wrongPages reads the pages in their order.
func wrongPages(f *os.File, size, number int) (wrong []uint32, err error) {
	const many = 64
	chunk := make([]byte, many*size)
	for first := 0; first < number; first += many {
		n, err := f.ReadAt(chunk, int64(first)*int64(size))
		if err != nil && !errors.Is(err, io.EOF) {
			return nil, fmt.Errorf("look over the pages: %w", err)
		}
		for i := 0; i < many && first+i < number; i++ {
			at := uint32(first + i + 1)
			if (i+1)*size <= n && right(chunk[i*size:(i+1)*size], at) {
				continue
			}
			wrong = append(wrong, at)
		}
	}
	return wrong, nil
}

// right reports whether a page agrees with its sum.
func right(page []byte, number uint32) bool {
	end := len(page) - reserved
	if !bytes.Equal(page[end:end+len(mark)], mark) {
		return int64(number-1) == lockByte/int64(len(page))
	}
	return binary.BigEndian.Uint32(page[len(page)-4:]) == sumOf(page, number)
}

// neverWritten lists the pages of zeros that are in no use. SQLite does not
// write a page that was given back before it was written for the first time.
func neverWritten(f *os.File, size, number int) map[uint32]bool {
	unused := map[uint32]bool{}
	page := make([]byte, size)
	if !read(f, page, 1) {
		return nil
	}
	var free []uint32
	next := binary.BigEndian.Uint32(page[atFree:])
	for range number { // the list may be a ring
		if next == 0 || !read(f, page, next) || !right(page, next) {
			break
		}
		next = binary.BigEndian.Uint32(page)
		for i := range min(binary.BigEndian.Uint32(page[4:]), uint32(size/4-2)) {
			free = append(free, binary.BigEndian.Uint32(page[8+4*i:]))
		}
	}
	for _, n := range free {
		if n > 0 && read(f, page, n) && len(bytes.TrimLeft(page, "\x00")) == 0 {
			unused[n] = true
		}
	}
	return unused
}

// sumOf is the sum of a page, of all but its last four bytes, and its number.
func sumOf(page []byte, number uint32) uint32 {
	sum := crc32.Update(0, castagnoli, page[:len(page)-4])
	return crc32.Update(sum, castagnoli, binary.BigEndian.AppendUint32(nil, number))
}
