package photo

import (
	"image"
	"image/color"
	"image/draw"
)

// shrunk draws a picture on white, no longer than LongSide. Each of its pixels
// is the mean of those that it stands for; they are unpacked row by row, since
// a large picture has more than a small computer wants to hold twice.
func shrunk(picture image.Image) *image.RGBA {
	from := picture.Bounds()
	wide, high := from.Dx(), from.Dy()
	if long := max(wide, high); long > LongSide {
		wide, high = max(1, wide*LongSide/long), max(1, high*LongSide/long)
	}
	out := image.NewRGBA(image.Rect(0, 0, wide, high))
	row := image.NewRGBA(image.Rect(0, 0, from.Dx(), 1))
	for y := range high {
		sums := make([][4]int, wide) // red, green, blue, and how many
		for at := y * from.Dy() / high; at < (y+1)*from.Dy()/high; at++ {
			draw.Draw(row, row.Rect, image.White, image.Point{}, draw.Src)
			draw.Draw(row, row.Rect, picture, image.Pt(from.Min.X, from.Min.Y+at), draw.Over)
			for x := range from.Dx() {
				sum, pixel := &sums[x*wide/from.Dx()], row.Pix[4*x:]
				sum[0] += int(pixel[0])
				sum[1] += int(pixel[1])
				sum[2] += int(pixel[2])
				sum[3]++
			}
		}
		for x, sum := range sums {
			out.SetRGBA(x, y, color.RGBA{uint8(sum[0] / sum[3]), uint8(sum[1] / sum[3]), uint8(sum[2] / sum[3]), 255})
		}
	}
	return out
}

// turned puts a picture upright that a camera took in another position.
func turned(p *image.RGBA, h held) *image.RGBA {
	if h == upright {
		return p
	}
	wide, high := p.Rect.Dx(), p.Rect.Dy()
	size := image.Rect(0, 0, wide, high)
	if h >= 5 {
		size = image.Rect(0, 0, high, wide)
	}
	out := image.NewRGBA(size)
	for y := range high {
		for x := range wide {
			toX, toY := place(h, x, y, wide-1, high-1)
			out.SetRGBA(toX, toY, p.RGBAAt(x, y))
		}
	}
	return out
}

// place is where a stored pixel is seen. The tag says at which edge of what is
// seen the stored row 0 and column 0 are (JEITA CP-3451, 4.6.4 A).
func place(h held, x, y, right, bottom int) (toX, toY int) {
	switch h {
	case 2: // row 0 at the top, column 0 at the right
		return right - x, y
	case 3: // bottom, right
		return right - x, bottom - y
	case 4: // bottom, left
		return x, bottom - y
	case 5: // row 0 at the left, column 0 at the top
		return y, x
	case 6: // right, top
		return bottom - y, x
	case 7: // right, bottom
		return bottom - y, right - x
	case 8: // left, bottom
		return y, right - x
	}
	return x, y
}
