package server_test

import (
	"bytes"
	"context"
	"encoding/base64"
	"fmt"
	"image"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/heapprofiler"
	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// What a day of scans leaves in the memory of the page: a thousand of them by
// a scanner that types, with the heap after the garbage is collected.
func BenchmarkAThousandScans(b *testing.B) {
	for range b.N {
		s, job := scanShop(b, "qty,part,length,width,thickness,material\n1000,Stile,34 1/2,2 1/4,3/4,white oak\n")
		p := scanPhone(b, plain(b, s), 390)
		p.open("/S/crosscut")
		p.startScan("/scan")
		p.press("#hands")
		var marks []string
		for _, st := range job.States {
			if st.Kind == parts.Single {
				marks = append(marks, string(st.Part))
			}
		}
		require.Len(b, marks, 1000)
		scan := func(list []string) {
			for _, mark := range list {
				see[bool](p, fmt.Sprintf(`(() => { const k = document.getElementById('keys'); k.value = '%s'; return k.dispatchEvent(new KeyboardEvent('keydown', {key: 'Enter', bubbles: true})); })()`, mark))
				p.await(`document.getElementById('waiting').hidden && document.getElementById('last-text').textContent.includes('Rough')`)
			}
		}
		scan(marks[:50]) // until everything was used once
		before := p.heap()
		scan(marks[50:])
		require.Eventually(b, func() bool { n, _ := recordedOf(b, s, job.Job.Code); return n == 1000 }, time.Minute, 100*time.Millisecond)
		b.ReportMetric(before/1e6, "MB-after-50")
		b.ReportMetric(p.heap()/1e6, "MB-after-1000")
		b.ReportMetric(float64(see[int](p, `document.querySelectorAll('*').length`)), "elements")
	}
}

// heap is what the page's scripts use, in bytes, once the garbage is collected.
func (p *phone) heap() float64 {
	p.Helper()
	used := 0.
	p.do(chromedp.Func(func(ctx context.Context, tg *chromedp.Target) error {
		if _, err := cdp.Call(ctx, tg, heapprofiler.CollectGarbage, cdp.Empty{}); err != nil {
			return err
		}
		if _, err := cdp.Call(ctx, tg, performance.Enable, performance.EnableParams{}); err != nil {
			return err
		}
		got, err := cdp.Call(ctx, tg, performance.GetMetrics, cdp.Empty{})
		if err != nil {
			return err
		}
		for _, m := range got.Metrics {
			if m.Name == "JSHeapUsedSize" {
				used = m.Value
			}
		}
		return nil
	}))
	return used
}

// hard is how hard a picture is made: what a shop does to a label and a hand to
// a picture of it.
type hard struct {
	name   string
	module float64 // pixels a module is wide
	blur   int     // half the length of the path that the hand moves on, in pixels
	soft   int     // how far out of focus, in pixels
	shade  float64 // share of the contrast that is left
	turn   float64 // degrees
	tilt   float64 // how much nearer one side is, as a share
	dust   float64 // share of the code that specks cover
}

// hardSet has each way alone in steps, and those that come together.
func hardSet() []hard {
	plain := hard{module: 5, shade: 1}
	set := []hard{}
	add := func(name string, change func(*hard)) {
		h := plain
		h.name = name
		change(&h)
		set = append(set, h)
	}
	add("plain", func(*hard) {})
	for _, v := range []float64{4, 3, 2.5} {
		add("far", func(h *hard) { h.module = v })
	}
	for _, v := range []int{2, 3, 4, 6} {
		add("moved", func(h *hard) { h.blur = v })
	}
	for _, v := range []int{1, 2, 3} {
		add("out of focus", func(h *hard) { h.soft = v })
	}
	for _, v := range []float64{.5, .3, .15, .08} {
		add("faint", func(h *hard) { h.shade = v })
	}
	for _, v := range []float64{10, 30, 45, 75, 180} {
		add("turned", func(h *hard) { h.turn = v })
	}
	for _, v := range []float64{.15, .3, .45} {
		add("tilted", func(h *hard) { h.tilt = v })
	}
	for _, v := range []float64{.01, .03, .06, .1} {
		add("dusty", func(h *hard) { h.dust = v })
	}
	for _, v := range []float64{15, 60} {
		add("together", func(h *hard) { h.turn, h.tilt, h.shade, h.soft, h.dust = v, .2, .4, 1, .02 })
		add("together, far", func(h *hard) { h.module, h.turn, h.shade, h.blur = 3.5, v, .4, 1 })
	}
	return set
}

// shot is the picture of a label's code, 1280 by 720 like the page's camera.
func (h hard) shot(tb testing.TB, text string, random *rand.Rand) []byte {
	const w, high = 1280, 720
	label := labelPicture(tb, 600, 600, 8, text)
	dusted(label, h.dust, random)
	im := image.NewGray(image.Rect(0, 0, w, high))
	sin, cos := math.Sincos(h.turn * math.Pi / 180)
	scale, shiftX, shiftY := 8/h.module, random.Float64()*160-80, random.Float64()*80-40
	for y := range high {
		for x := range w {
			dx, dy := float64(x-w/2)-shiftX, float64(y-high/2)-shiftY
			near := 1 + h.tilt*dx/float64(150) // the right side is farther off
			u, v := (dx*cos+dy*sin)*scale*near+300, (dy*cos-dx*sin)*scale*near+300
			shade := 120.
			if u >= 0 && v >= 0 && u < 599 && v < 599 {
				shade = between(label, u, v)
			}
			im.Pix[y*im.Stride+x] = uint8(max(0, min(255, 128+(shade-128)*h.shade+random.NormFloat64()*3)))
		}
	}
	im = blurred(im, h.blur)
	for range 2 {
		im = turned(blurred(im, h.soft))
	}
	var out bytes.Buffer
	require.NoError(tb, jpeg.Encode(&out, im, &jpeg.Options{Quality: 80}))
	return out.Bytes()
}

// between reads a shade between four pixels.
func between(im *image.Gray, u, v float64) float64 {
	x, y := int(u), int(v)
	fx, fy := u-float64(x), v-float64(y)
	at := func(x, y int) float64 { return float64(im.Pix[y*im.Stride+x]) }
	return (at(x, y)*(1-fx)+at(x+1, y)*fx)*(1-fy) + (at(x, y+1)*(1-fx)+at(x+1, y+1)*fx)*fy
}

// dusted puts light specks on the middle of a picture until they cover a share.
func dusted(im *image.Gray, share float64, random *rand.Rand) {
	const side = 330 // of the code
	for left := share * side * side; left > 0; {
		r := 2 + random.Float64()*7
		cx, cy := im.Rect.Dx()/2+random.IntN(side)-side/2, im.Rect.Dy()/2+random.IntN(side)-side/2
		for y := -int(r); y <= int(r); y++ {
			for x := -int(r); x <= int(r); x++ {
				if float64(x*x+y*y) <= r*r {
					im.Pix[(cy+y)*im.Stride+cx+x] = 190
				}
			}
		}
		left -= math.Pi * r * r
	}
}

// turned swaps the sides of a picture, so that both are blurred.
func turned(im *image.Gray) *image.Gray {
	out := image.NewGray(image.Rect(0, 0, im.Rect.Dy(), im.Rect.Dx()))
	for y := range im.Rect.Dy() {
		for x := range im.Rect.Dx() {
			out.Pix[x*out.Stride+y] = im.Pix[y*im.Stride+x]
		}
	}
	return out
}

// How many hard pictures the page's own decoder reads. That it never reads
// something else than what is there is no measure: that must be so.
func BenchmarkHardPictures(b *testing.B) {
	const each = 4
	for range b.N {
		s, _ := scanShop(b, fortyEight)
		p := scanPhone(b, s.url, 390)
		p.startScan("/scan")
		reader := p.module("reader.js")
		random := rand.New(rand.NewPCG(7, 11))
		read, all := map[string]int{}, map[string]int{}
		var order []string
		for _, h := range hardSet() {
			if all[h.name] == 0 {
				order = append(order, h.name)
			}
			for range each {
				id, _ := parts.NextMark(random.Int64N(1 << 20))
				text := "HTTP://192.168.1.20:8080/P/" + string(id)
				picture := base64.StdEncoding.EncodeToString(h.shot(b, text, random))
				got := later[string](p, fmt.Sprintf(`(async () => { const r = await import('%s'), i = await createImageBitmap(new Blob([Uint8Array.from(atob('%s'), c => c.charCodeAt(0))])); return r.read(i, i.width, i.height); })()`, reader, picture))
				all[h.name]++
				all[""]++
				if got != "" {
					require.Equal(b, text, got, "a wrong answer: %+v", h)
					read[h.name]++
					read[""]++
				}
			}
		}
		for _, name := range order {
			b.Logf("%-14s %d of %d", name, read[name], all[name])
		}
		b.ReportMetric(100*float64(read[""])/float64(all[""]), "%-read")
		b.ReportMetric(float64(all[""]), "pictures")
	}
}
