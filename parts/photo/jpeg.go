package photo

import (
	"bytes"
	"encoding/binary"
)

// held is how a camera was held, as the tag Orientation of Exif counts it
// (JEITA CP-3451, 4.6.4 A): 1 upright, 3 upside down, 6 and 8 on a side, and
// the even ones of each pair mirrored.
type held int

const upright held = 1

// jpegHead is what has to be known of a JPEG before it is unpacked.
type jpegHead struct {
	held  held
	scans int
}

// The markers that are looked for (ITU-T T.81, table B.1).
const (
	markerFill = 0xFF
	markerRST0 = 0xD0 // to 0xD7, inside a scan
	markerRST7 = 0xD7
	markerSOI  = 0xD8
	markerEOI  = 0xD9
	markerSOS  = 0xDA
	markerAPP1 = 0xE1
	markerTEM  = 0x01
)

// readJPEG goes from marker to marker. It stops where the file makes no sense:
// the decoder says what is wrong with it.
func readJPEG(data []byte) jpegHead {
	h := jpegHead{held: upright}
	for {
		at := bytes.IndexByte(data, markerFill)
		if at < 0 || at+1 >= len(data) {
			return h
		}
		marker := data[at+1]
		data = data[at+1:]
		switch {
		case marker == markerFill: // fill bytes before a marker
			continue
		case marker == 0, marker == markerTEM, marker == markerSOI, marker >= markerRST0 && marker <= markerRST7:
			data = data[1:]
			continue
		case marker == markerEOI || len(data) < 3:
			return h
		}
		length := int(binary.BigEndian.Uint16(data[1:3]))
		if length < 2 || 1+length > len(data) {
			return h
		}
		segment := data[3 : 1+length]
		switch {
		case marker == markerSOS:
			h.scans++
		case marker == markerAPP1 && h.held == upright:
			h.held = orientation(segment)
		}
		data = data[1+length:]
	}
}

// orientation finds the tag in a segment of Exif data: a TIFF file whose first
// directory holds it as a SHORT (TIFF 6.0, section 2). Whatever is not so is
// upright.
func orientation(segment []byte) held {
	tiff, isExif := bytes.CutPrefix(segment, []byte("Exif\x00\x00"))
	if !isExif || len(tiff) < 8 {
		return upright
	}
	var order binary.ByteOrder = binary.LittleEndian
	if tiff[0] == 'M' {
		order = binary.BigEndian
	}
	at := int64(order.Uint32(tiff[4:8]))
	if at+2 > int64(len(tiff)) {
		return upright
	}
	entries := tiff[at:]
	count := int(order.Uint16(entries))
	for entries = entries[2:]; count > 0 && len(entries) >= 12; count, entries = count-1, entries[12:] {
		const tagOrientation, typeShort = 0x0112, 3
		if order.Uint16(entries) != tagOrientation || order.Uint16(entries[2:]) != typeShort {
			continue
		}
		if v := held(order.Uint16(entries[8:])); v >= 1 && v <= 8 {
			return v
		}
	}
	return upright
}
