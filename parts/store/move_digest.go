package store

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"math"
	"math/bits"
)

// digest adds up rows in any order: how many there are, and the sum of their
// SHA-256 hashes.
type digest struct {
	rows int
	sum  [4]uint64
}

func (d *digest) add(row []any) error {
	h := sha256.New()
	for _, v := range row {
		var data []byte
		kind := byte('-')
		switch v := v.(type) {
		case nil:
		case int64:
			kind, data = 'n', binary.BigEndian.AppendUint64(nil, uint64(v))
		case float64:
			kind, data = 'f', binary.BigEndian.AppendUint64(nil, math.Float64bits(v))
		case string:
			kind, data = 't', []byte(v)
		case []byte:
			kind, data = 'b', v
		default:
			return fmt.Errorf("a value of the type %T is not expected", v)
		}
		h.Write(binary.BigEndian.AppendUint64([]byte{kind}, uint64(len(data))))
		h.Write(data)
	}
	sum := h.Sum(nil)
	d.rows++
	var carry uint64
	for i := range d.sum {
		d.sum[i], carry = bits.Add64(d.sum[i], binary.BigEndian.Uint64(sum[8*i:]), carry)
	}
	return nil
}
