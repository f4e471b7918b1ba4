// Package photo makes the picture that a phone sent anew: what is kept is a
// JPEG of the shop's own making, of a bounded size, that says nothing beside
// what it shows: no place, no time, no phone. It owns which files are pictures
// and how large one may be. Bytes go in and bytes come out; it keeps nothing.
package photo

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"

	"golang.org/x/image/webp"

	"benchtally/parts"
)

// The limits of a picture, looked at before any of its pixels are unpacked.
const (
	MostBytes  = 6 << 20
	MostPixels = 25_000_000 // twice what phones take unless they are told to take more
	MostSide   = 12_000     // pixels
	LongSide   = 1_600      // pixels of what is kept
	mostScans  = 64         // passes over a JPEG; cameras make one, programs about ten
	quality    = 85         // of the JPEG; common practice, no source
)

// Type is what Clean makes, as HTTP names it.
const Type = "image/jpeg"

// Clean gives the picture in data as a JPEG whose longer side is at most
// LongSide, upright as its camera says it was held, on white where it was
// transparent. The error is a Problem: photo-large (TooBig), photo-kind or
// photo-broken.
func Clean(data []byte) (out []byte, err error) {
	if len(data) > MostBytes {
		return nil, parts.Problemf(parts.TooBig, "photo-large", "The picture is larger than %d MB.", MostBytes>>20).Next(smaller)
	}
	k := kindOf(data)
	if k == nil {
		return nil, parts.Problemf(parts.Invalid, "photo-kind", "That is no picture a browser can show.").Next("Send a JPEG, PNG or WebP picture.")
	}
	defer func() { // a file nobody thought of is a damaged one
		if fault := recover(); fault != nil {
			out, err = nil, broken(fmt.Errorf("decode a picture: %v", fault))
		}
	}()
	up := upright
	if k.name == "jpeg" {
		head := readJPEG(data)
		if head.scans > mostScans {
			return nil, broken(errors.New("too many scans"))
		}
		up = head.held
	}
	size, err := k.size(bytes.NewReader(data))
	if err != nil {
		return nil, broken(err)
	}
	if size.Width > MostSide || size.Height > MostSide || size.Width*size.Height > MostPixels {
		return nil, parts.Problemf(parts.TooBig, "photo-large", "The picture has %d × %d pixels, more than can be looked at here.", size.Width, size.Height).Next(smaller)
	}
	picture, err := k.read(bytes.NewReader(data))
	if err != nil {
		return nil, broken(err)
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, turned(shrunk(picture), up), &jpeg.Options{Quality: quality}); err != nil {
		return nil, broken(err)
	}
	return b.Bytes(), nil
}

const smaller = "Take it again at a lower resolution."

func broken(err error) error {
	return parts.Problemf(parts.Invalid, "photo-broken", "The picture is damaged.").Next("Take it again, or send another one.").Because(err)
}

// kind is a kind of picture that every browser shows.
type kind struct {
	name string
	size func(r *bytes.Reader) (image.Config, error)
	read func(r *bytes.Reader) (image.Image, error)
}

// kindOf tells pictures by their first bytes, as the WHATWG MIME Sniffing
// Standard does; nil for anything else. Names of files say nothing.
func kindOf(data []byte) *kind {
	begins := func(with string) bool { return bytes.HasPrefix(data, []byte(with)) }
	switch {
	case begins("\xFF\xD8\xFF"):
		return &kind{"jpeg", func(r *bytes.Reader) (image.Config, error) { return jpeg.DecodeConfig(r) },
			func(r *bytes.Reader) (image.Image, error) { return jpeg.Decode(r) }}
	case begins("\x89PNG\r\n\x1A\n"):
		return &kind{"png", func(r *bytes.Reader) (image.Config, error) { return png.DecodeConfig(r) },
			func(r *bytes.Reader) (image.Image, error) { return png.Decode(r) }}
	case begins("RIFF") && len(data) >= 14 && string(data[8:14]) == "WEBPVP":
		return &kind{"webp", func(r *bytes.Reader) (image.Config, error) { return webp.DecodeConfig(r) },
			func(r *bytes.Reader) (image.Image, error) { return webp.Decode(r) }}
	}
	return nil
}
