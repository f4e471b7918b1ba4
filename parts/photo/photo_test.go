package photo

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

// corners is a picture whose corners are red, green, blue and black, in the
// order of reading.
func corners(wide, high int) image.Image {
	m := image.NewRGBA(image.Rect(0, 0, wide, high))
	for y := range high {
		for x := range wide {
			c := color.RGBA{A: 255}
			switch {
			case y < high/2 && x < wide/2:
				c.R = 255
			case y < high/2:
				c.G = 255
			case x < wide/2:
				c.B = 255
			}
			m.SetRGBA(x, y, c)
		}
	}
	return m
}

func asJPEG(t require.TestingT, m image.Image) []byte {
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, m, &jpeg.Options{Quality: 95}))
	return b.Bytes()
}

func asPNG(t require.TestingT, m image.Image) []byte {
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, m))
	return b.Bytes()
}

// exif is a segment of Exif data with an orientation, a maker and a place,
// written by hand after JEITA CP-3451 and TIFF 6.0.
func exif(order binary.AppendByteOrder, orientation uint16) []byte {
	b := []byte("II*\x00")
	if order == binary.AppendByteOrder(binary.BigEndian) {
		b = []byte("MM\x00*")
	}
	b = order.AppendUint32(b, 8)
	b = order.AppendUint16(b, 3)
	entry := func(tag, kind uint16, count uint32, value []byte) {
		b = order.AppendUint16(b, tag)
		b = order.AppendUint16(b, kind)
		b = order.AppendUint32(b, count)
		b = append(b, append(value, make([]byte, 4-len(value))...)...)
	}
	entry(0x010F, 2, 4, []byte("TERN"))                              // Make
	entry(0x0112, 3, 1, order.AppendUint16(nil, orientation))        // Orientation
	entry(0x8825, 4, 1, order.AppendUint32(nil, 50))                 // the directory of the place
	b = order.AppendUint32(b, 0)                                     // no directory after this one
	b = append(b, order.AppendUint16(nil, 1)...)                     // that of the place: one entry,
	b = append(b, order.AppendUint16(nil, 0x001D)...)                // GPSDateStamp
	b = append(b, order.AppendUint16(nil, 2)...)                     // as a text
	b = append(b, order.AppendUint32(nil, uint32(len("54.32N")))...) //
	b = append(b, []byte("54.32N")...)                               // standing for a place
	return append([]byte("Exif\x00\x00"), b...)
}

// withSegment puts an APP1 segment behind the start of a JPEG.
func withSegment(picture, segment []byte) []byte {
	head := binary.BigEndian.AppendUint16([]byte{0xFF, 0xD8, 0xFF, 0xE1}, uint16(len(segment)+2))
	return append(append(head, segment...), picture[2:]...)
}

func decoded(t require.TestingT, data []byte) image.Image {
	m, err := jpeg.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	return m
}

// seen names the colours of the corners in the order of reading.
func seen(m image.Image) string {
	var out strings.Builder
	b := m.Bounds()
	for _, p := range []image.Point{{b.Min.X, b.Min.Y}, {b.Max.X - 1, b.Min.Y}, {b.Min.X, b.Max.Y - 1}, {b.Max.X - 1, b.Max.Y - 1}} {
		r, g, bl, _ := m.At(p.X, p.Y).RGBA()
		switch {
		case r > 0x8000:
			out.WriteByte('r')
		case g > 0x8000:
			out.WriteByte('g')
		case bl > 0x8000:
			out.WriteByte('b')
		default:
			out.WriteByte('k')
		}
	}
	return out.String()
}

// Source of the eight: JEITA CP-3451 (Exif 2.2), 4.6.4 A, tag Orientation:
// where the stored row 0 and column 0 are seen. The stored picture reads rgbk:
// red at row 0, column 0; green at row 0, last column.
func TestAPictureIsUprightWithoutItsTag(t *testing.T) {
	want := map[uint16]string{1: "rgbk", 2: "grkb", 3: "kbgr", 4: "bkrg", 5: "rbgk", 6: "brkg", 7: "kgbr", 8: "gkrb"}
	for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
		for orientation, corner := range want {
			out, err := Clean(withSegment(asJPEG(t, corners(48, 32)), exif(order, orientation)))
			require.NoError(t, err)
			m := decoded(t, out)
			assert.Equal(t, corner, seen(m), "orientation %d", orientation)
			if orientation >= 5 {
				assert.Equal(t, image.Pt(32, 48), m.Bounds().Size())
			} else {
				assert.Equal(t, image.Pt(48, 32), m.Bounds().Size())
			}
		}
	}
	for _, nonsense := range []uint16{0, 9, 65535} {
		out, err := Clean(withSegment(asJPEG(t, corners(48, 32)), exif(binary.LittleEndian, nonsense)))
		require.NoError(t, err)
		assert.Equal(t, "rgbk", seen(decoded(t, out)))
	}
}

// What a phone writes beside the picture is gone: where it was taken, with
// what, and whatever hides behind its end.
func TestNothingBesideThePictureIsKept(t *testing.T) {
	sent := withSegment(asJPEG(t, corners(48, 32)), exif(binary.BigEndian, 1))
	sent = append(sent, "PK\x03\x04<script>window.hit=1</script>"...)
	for _, hidden := range []string{"Exif", "TERN", "54.32N", "<script>", "PK\x03\x04"} {
		require.Contains(t, string(sent), hidden)
		out, err := Clean(sent)
		require.NoError(t, err)
		assert.NotContains(t, string(out), hidden)
	}
	text := chunk("tEXt", []byte("Comment\x00<script>window.hit=1</script>"))
	whole := asPNG(t, corners(8, 8))
	out, err := Clean(append(append(whole[:33:33], text...), whole[33:]...))
	require.NoError(t, err)
	assert.NotContains(t, string(out), "<script>")
}

// chunk is a chunk of a PNG (ISO/IEC 15948, 5.3).
func chunk(name string, data []byte) []byte {
	b := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
	b = append(append(b, name...), data...)
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
}

// bomb is a PNG of a few bytes that says it is enormous.
func bomb(wide, high uint32) []byte {
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, wide), high)
	b := append([]byte("\x89PNG\r\n\x1A\n"), chunk("IHDR", append(head, 8, 6, 0, 0, 0))...)
	b = append(b, chunk("IDAT", []byte{0x78, 0x9C, 0x03, 0x00, 0x00, 0x00, 0x00, 0x01})...)
	return append(b, chunk("IEND", nil)...)
}

func TestPicturesThatAreRefused(t *testing.T) {
	small := asJPEG(t, corners(8, 8))
	tests := []struct {
		name string
		data []byte
		code string
	}{
		{"nothing", nil, "photo-kind"},
		{"a page", []byte("<html><script>window.hit=1</script>"), "photo-kind"},
		{"a drawing that may hold a script", []byte("<svg xmlns='http://www.w3.org/2000/svg'/>"), "photo-kind"},
		{"a page behind the first bytes of a JPEG", []byte("\xFF\xD8\xFF<script>window.hit=1</script>"), "photo-broken"},
		{"the first bytes of a WebP", []byte("RIFF\x10\x00\x00\x00WEBPVP8 "), "photo-broken"},
		{"cut off", small[:len(small)/2], "photo-broken"},
		{"50,000 pixels square in 70 bytes", bomb(50_000, 50_000), "photo-large"},
		{"all its pixels in one row", bomb(MostSide+1, 1), "photo-large"},
		{"more pixels than may be", bomb(6_000, 6_000), "photo-large"},
		{"as many pixels as may be, and none there", bomb(5_000, 5_000), "photo-broken"},
		{"more bytes than may be", append(small, make([]byte, MostBytes)...), "photo-large"},
		{"a JPEG that is gone over and over", append(small[:2:2], append(bytes.Repeat([]byte{0xFF, 0xDA, 0, 2}, mostScans+1), small[2:]...)...), "photo-broken"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Clean(tt.data)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			assert.NotEmpty(t, parts.AsProblem(err).Do)
		})
	}
}

// The kinds of picture are told apart as Go's own net/http does it, which
// follows the WHATWG MIME Sniffing Standard.
func TestPicturesAreToldByTheirFirstBytes(t *testing.T) {
	heads := []string{"\xFF\xD8\xFF", "\xFF\xD8", "\x89PNG\r\n\x1A\n", "\x89PNG", "RIFF\x10\x00\x00\x00WEBPVP", "RIFF\x10\x00\x00\x00WEBPV", "RIFF\x10\x00\x00\x00WAVEfmt ",
		"GIF89a", "<svg xmlns='http://www.w3.org/2000/svg'/>", "<html><script>", "BM", "%PDF-1.7", "", " "}
	rapid.Check(t, func(t *rapid.T) {
		data := append([]byte(rapid.SampledFrom(heads).Draw(t, "head")), rapid.SliceOfN(rapid.Byte(), 0, 20).Draw(t, "rest")...)
		want := http.DetectContentType(data)
		if k := kindOf(data); k != nil {
			require.Equal(t, want, "image/"+k.name)
		} else {
			require.NotContains(t, []string{"image/jpeg", "image/png", "image/webp"}, want)
		}
	})
}

// A bomb is refused for what its head says: nothing of its size is unpacked.
func TestABombTakesNoMemory(t *testing.T) {
	data := bomb(50_000, 50_000)
	got := testing.Benchmark(func(b *testing.B) {
		b.ReportAllocs()
		for range b.N {
			Clean(data)
		}
	})
	assert.Less(t, got.AllocedBytesPerOp(), int64(1<<20))
}

func TestALargePictureIsMadeSmaller(t *testing.T) {
	for name, write := range map[string]func(require.TestingT, image.Image) []byte{"JPEG": asJPEG, "PNG": asPNG} {
		out, err := Clean(write(t, corners(4_000, 3_000)))
		require.NoError(t, err, name)
		m := decoded(t, out)
		assert.Equal(t, image.Pt(LongSide, LongSide*3/4), m.Bounds().Size(), name)
		assert.Equal(t, "rgbk", seen(m), name)
		assert.Less(t, len(out), 200_000, name)
	}
	out, err := Clean(asPNG(t, image.NewGray(image.Rect(0, 0, MostSide, 1))))
	require.NoError(t, err)
	assert.Equal(t, image.Pt(LongSide, 1), decoded(t, out).Bounds().Size(), "a row stays a row")
}

func TestWhatIsTransparentIsWhite(t *testing.T) {
	out, err := Clean(asPNG(t, image.NewNRGBA(image.Rect(0, 0, 16, 16))))
	require.NoError(t, err)
	r, g, b, _ := decoded(t, out).At(8, 8).RGBA()
	assert.Equal(t, []uint32{0xFFFF, 0xFFFF, 0xFFFF}, []uint32{r, g, b})
}

// A lossless WebP of one red pixel's worth, written by hand after RFC 9649:
// every code has a single symbol, so no pixel takes a bit.
func TestAWebPIsRead(t *testing.T) {
	out, err := Clean(redWebP(16, 8))
	require.NoError(t, err)
	m := decoded(t, out)
	require.Equal(t, image.Pt(16, 8), m.Bounds().Size())
	r, g, b, _ := m.At(3, 3).RGBA()
	assert.Greater(t, r, uint32(0xF000))
	assert.Less(t, g, uint32(0x1000))
	assert.Less(t, b, uint32(0x1000))
	_, err = Clean(redWebP(16_384, 16_384))
	assert.Equal(t, "photo-large", parts.CodeOf(err), "one of a few bytes that says it is enormous")
}

func redWebP(wide, high int) []byte {
	var bits uint64
	var body []byte
	n := 0
	put := func(v uint64, width int) {
		bits |= v << n
		for n += width; n >= 8; n, bits = n-8, bits>>8 {
			body = append(body, byte(bits))
		}
	}
	put(0x2F, 8)
	put(uint64(wide-1), 14)
	put(uint64(high-1), 14)
	put(0, 1)                                            // no transparency
	put(0, 3)                                            // version
	put(0, 1)                                            // no transform
	put(0, 1)                                            // no colour cache
	put(0, 1)                                            // one group of codes
	for _, symbol := range []uint64{0, 255, 0, 255, 0} { // green, red, blue, alpha, distance
		put(1, 1) // a simple code
		put(0, 1) // of one symbol
		put(1, 1) // of eight bits
		put(symbol, 8)
	}
	put(0, 7)
	if len(body)%2 == 1 {
		body = append(body, 0)
	}
	chunk := append([]byte("VP8L"), binary.LittleEndian.AppendUint32(nil, uint32(len(body)))...)
	chunk = append(chunk, body...)
	out := append([]byte("RIFF"), binary.LittleEndian.AppendUint32(nil, uint32(4+len(chunk)))...)
	return append(append(out, "WEBP"...), chunk...)
}

// Whatever is sent, the answer is a picture within the limits or a sentence.
func TestAnyBytesGiveAPictureOrASentence(t *testing.T) {
	seeds := [][]byte{withSegment(asJPEG(t, corners(16, 8)), exif(binary.LittleEndian, 6)), asPNG(t, corners(16, 8)), redWebP(16, 8)}
	rapid.Check(t, func(t *rapid.T) {
		data := bytes.Clone(rapid.SampledFrom(seeds).Draw(t, "seed"))
		for range rapid.IntRange(0, 4).Draw(t, "changes") {
			data[rapid.IntRange(0, len(data)-1).Draw(t, "at")] = rapid.Byte().Draw(t, "byte")
		}
		data = data[:rapid.IntRange(0, len(data)).Draw(t, "length")]
		out, err := Clean(data)
		if err != nil {
			require.NotNil(t, parts.AsProblem(err), "%v", err)
			return
		}
		size := decoded(t, out).Bounds().Size()
		require.LessOrEqual(t, max(size.X, size.Y), LongSide)
	})
}

func FuzzClean(f *testing.F) {
	f.Add(asPNG(f, corners(4, 4)))
	f.Add(withSegment(asJPEG(f, corners(4, 4)), exif(binary.BigEndian, 8)))
	f.Add(redWebP(4, 4))
	f.Fuzz(func(t *testing.T, data []byte) {
		if out, err := Clean(data); err == nil {
			decoded(t, out)
		} else if parts.AsProblem(err) == nil {
			t.Fatal(err)
		}
	})
}

func BenchmarkClean(b *testing.B) {
	data := asJPEG(b, corners(4_000, 3_000))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Clean(data); err != nil {
			b.Fatal(err)
		}
	}
}
