package labels

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
)

// spoil is one kind of damage to a picture of a label with so many dots to the
// millimetre. The code lies at its middle, side millimetres wide.
type spoil struct {
	name  string
	apply func(img *image.Gray, perMM, side float64, r *rand.Rand) *image.Gray
}

var spoils = []spoil{
	{"as printed", func(img *image.Gray, _, _ float64, _ *rand.Rand) *image.Gray { return img }},
	{"blur", func(img *image.Gray, perMM, _ float64, r *rand.Rand) *image.Gray {
		return blurred(img, perMM*(0.1+0.1*r.Float64()))
	}},
	{"30 % contrast", func(img *image.Gray, _, _ float64, _ *rand.Rand) *image.Gray {
		return eachDot(img, func(v, _, _ float64) float64 { return 110 + 0.3*v })
	}},
	{"rotation", func(img *image.Gray, _, _ float64, r *rand.Rand) *image.Gray {
		return warped(img, turned(math.Pi/6*(2*r.Float64()-1)))
	}},
	{"perspective", func(img *image.Gray, _, _ float64, r *rand.Rand) *image.Gray {
		return warped(img, leaning(2*math.Pi*r.Float64()))
	}},
	{"dust", dusted},
	{"missing corner", func(img *image.Gray, perMM, side float64, r *rand.Rand) *image.Gray {
		// The corner without a finder: without one of those nothing reads.
		leg := side * (0.15 + 0.1*r.Float64())
		return eachDot(img, func(v, x, y float64) float64 {
			if (side/2-x/perMM)+(side/2-y/perMM) < leg {
				return 128 // the wood below
			}
			return v
		})
	}},
	{"scratch", func(img *image.Gray, perMM, side float64, r *rand.Rand) *image.Gray {
		a, off := math.Pi*r.Float64(), side*0.2*(2*r.Float64()-1)
		sin, cos := math.Sincos(a)
		return eachDot(img, func(v, x, y float64) float64 {
			if math.Abs(x/perMM*sin-y/perMM*cos-off) < 0.15 {
				return 255
			}
			return v
		})
	}},
}

// eachDot makes a picture whose dots are a function of the old ones and of
// their place from the middle.
func eachDot(img *image.Gray, f func(v, x, y float64) float64) *image.Gray {
	b := img.Bounds()
	out := image.NewGray(image.Rect(0, 0, b.Dx(), b.Dy()))
	for y := range b.Dy() {
		for x := range b.Dx() {
			v := f(float64(img.GrayAt(b.Min.X+x, b.Min.Y+y).Y), float64(x)-float64(b.Dx())/2, float64(y)-float64(b.Dy())/2)
			out.SetGray(x, y, color.Gray{Y: uint8(min(255, max(0, v)))})
		}
	}
	return out
}

// blurred is a picture seen out of focus, with a bell of a width in dots.
func blurred(img *image.Gray, sigma float64) *image.Gray {
	reach := int(3*sigma) + 1
	bell := make([]float64, 2*reach+1)
	sum := 0.0
	for i := range bell {
		bell[i] = math.Exp(-float64((i-reach)*(i-reach)) / (2 * sigma * sigma))
		sum += bell[i]
	}
	pass := func(in *image.Gray, dx, dy int) *image.Gray {
		b := in.Bounds()
		out := image.NewGray(image.Rect(0, 0, b.Dx(), b.Dy()))
		for y := range b.Dy() {
			for x := range b.Dx() {
				v := 0.0
				for i, w := range bell {
					px := min(b.Dx()-1, max(0, x+(i-reach)*dx))
					py := min(b.Dy()-1, max(0, y+(i-reach)*dy))
					v += w * float64(in.Pix[in.PixOffset(b.Min.X+px, b.Min.Y+py)])
				}
				out.Pix[y*out.Stride+x] = uint8(v/sum + 0.5)
			}
		}
		return out
	}
	return pass(pass(img, 1, 0), 0, 1)
}

// turned and leaning give, for a place on the new picture from its middle in
// halves of the old one's side, the place on the old one.
func turned(angle float64) func(x, y float64) (float64, float64) {
	sin, cos := math.Sincos(angle)
	return func(x, y float64) (float64, float64) { return x*cos - y*sin, x*sin + y*cos }
}

// leaning is a label held at 45 degrees, away along a direction: 0.7 as long
// that way, and its near end larger than its far one as with a code of 30 mm a
// hand's width, 100 mm, from the lens: 15 mm * sin 45 / 100 mm each way.
func leaning(away float64) func(x, y float64) (float64, float64) {
	sin, cos := math.Sincos(away)
	return func(x, y float64) (float64, float64) {
		along, across := x*cos+y*sin, y*cos-x*sin
		w := 1 - 0.106*along/0.7
		along, across = along/0.7/w, across/w
		return along*cos - across*sin, along*sin + across*cos
	}
}

// warped takes each dot from a place of the old picture, white round it. The
// new one is half as large again, so that nothing is cut off.
func warped(img *image.Gray, from func(x, y float64) (float64, float64)) *image.Gray {
	b := img.Bounds()
	half := float64(min(b.Dx(), b.Dy())) / 2
	at := func(x, y int) float64 {
		p := image.Pt(b.Min.X+x, b.Min.Y+y)
		if !p.In(b) {
			return 255
		}
		return float64(img.GrayAt(p.X, p.Y).Y)
	}
	return eachDot(image.NewGray(image.Rect(0, 0, b.Dx()*3/2, b.Dy()*3/2)), func(_, x, y float64) float64 {
		u, v := from(x/half, y/half)
		u, v = u*half+float64(b.Dx())/2, v*half+float64(b.Dy())/2
		fx, fy := math.Floor(u), math.Floor(v)
		p, q, i, j := u-fx, v-fy, int(fx), int(fy)
		return (at(i, j)*(1-p)+at(i+1, j)*p)*(1-q) + (at(i, j+1)*(1-p)+at(i+1, j+1)*p)*q
	})
}

// dusted throws specks of sawdust and of dark glue on about a thirtieth of the
// code.
func dusted(img *image.Gray, perMM, side float64, r *rand.Rand) *image.Gray {
	type speck struct{ x, y, r, shade float64 }
	var specks []speck
	for left := 0.033 * side * side; left > 0; {
		s := speck{side * (r.Float64() - 0.5), side * (r.Float64() - 0.5), 0.1 + 0.35*r.Float64(), 40}
		if r.IntN(3) > 0 {
			s.shade = 225
		}
		specks = append(specks, s)
		left -= math.Pi * s.r * s.r
	}
	return eachDot(img, func(v, x, y float64) float64 {
		for _, s := range specks {
			if math.Hypot(x/perMM-s.x, y/perMM-s.y) < s.r {
				v = s.shade
			}
		}
		return v
	})
}
