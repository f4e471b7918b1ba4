package server_test

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	qrcode "github.com/skip2/go-qrcode"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// scanShop is a shop whose clock runs with the browser's, at the crosscut saw,
// with a job of the given list.
func scanShop(t testing.TB, list string) (*shop, bench.JobPieces) {
	s := serve(t)
	s.clock.Set(time.Now())
	stop := make(chan struct{})
	t.Cleanup(func() { close(stop) })
	go func() {
		for {
			select {
			case <-stop:
				return
			case <-time.After(2 * time.Millisecond):
				if now := time.Now(); now.After(s.clock.Now()) {
					s.clock.Set(now)
				}
			}
		}
	}()
	return s, shoptest.ListJob(t, s.bench, "Tern Point lockers", list, nil)
}

// scanPhone opens a window of a phone's size, in a browser of its own when it
// needs flags, and else in one that all tests share. Each window has storage of
// its own.
func scanPhone(t testing.TB, at string, width int64, flags ...chromedp.ExecAllocatorOption) *phone {
	shoptest.NeedSQLite(t, "a page does not see which database it is drawn from")
	path, err := exec.LookPath("chromium")
	if err != nil {
		shoptest.SkipOrFail(t, "no chromium on this machine: the scanning page is not tried in a browser")
	}
	browser, stop := scanBrowser(path, flags)
	if len(flags) == 0 {
		shared, err := sharedBrowser(path)
		require.NoError(t, err)
		browser, stop = chromedp.NewContext(shared, chromedp.WithNewBrowserContext())
	}
	t.Cleanup(stop)
	p := &phone{TB: t, ctx: browser, at: at}
	p.do(chromedp.EmulateViewport(width, 844, chromedp.EmulateMobile, chromedp.EmulateTouch))
	limited, cancel := context.WithTimeout(browser, 3*time.Minute)
	t.Cleanup(cancel)
	p.ctx = limited
	return p
}

// scanBrowser prepares a browser; it starts with the first thing that it does.
func scanBrowser(path string, flags []chromedp.ExecAllocatorOption) (context.Context, func()) {
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.Flag("headless", "new"), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("no-first-run", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		// A name that is no secure place, as a shop has it before HTTPS.
		chromedp.Flag("host-resolver-rules", "MAP shop.lan 127.0.0.1"))
	ctx, stop := chromedp.NewExecAllocator(context.Background(), append(opts, flags...)...)
	ctx, end := chromedp.NewContext(ctx)
	return ctx, func() { end(); stop() }
}

// shared is the browser of the tests without flags. It ends with the process
// that started it.
var shared struct {
	sync.Once
	ctx context.Context
	err error
}

func sharedBrowser(path string) (context.Context, error) {
	shared.Do(func() {
		shared.ctx, _ = scanBrowser(path, nil)
		shared.err = chromedp.Do(shared.ctx)
	})
	return shared.ctx, shared.err
}

// filmed are the flags that let a browser take a film for its camera.
func filmed(film string) []chromedp.ExecAllocatorOption {
	return []chromedp.ExecAllocatorOption{
		chromedp.Flag("use-fake-ui-for-media-stream", true), chromedp.Flag("use-fake-device-for-media-stream", true),
		chromedp.Flag("use-file-for-fake-video-capture", film),
	}
}

// startScan opens the page at a station and waits until it listens.
func (p *phone) startScan(path string) {
	p.Helper()
	p.open(path)
	p.await(`document.documentElement.dataset.ready === '1'`)
	p.await(`document.getElementById('old').hidden`)
}

// cameraOn starts the camera where it does not start by itself, because it was
// allowed before.
func (p *phone) cameraOn() {
	p.Helper()
	p.await(`document.getElementById('camera').dataset.is || !document.getElementById('hint').hidden`)
	if see[bool](p, `document.getElementById('camera').dataset.is === 'off' && document.getElementById('hint').hidden`) {
		p.press("#camera")
	}
}

// await waits until a condition holds on the page.
func (p *phone) await(js string) {
	p.Helper()
	require.Eventually(p, func() bool { return see[bool](p, "!!("+js+")") }, 30*time.Second, 20*time.Millisecond, "%s\n%s", js, p.text("body"))
}

// screen keeps what a person sees of the page at once, in the folder that
// BENCHTALLY_SHOTS names.
func (p *phone) screen(name string) {
	p.Helper()
	dir := os.Getenv("BENCHTALLY_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(p.ctx, chromedp.CaptureScreenshot())
	require.NoError(p, err)
	require.NoError(p, os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644))
}

// picture of a label: its code in a grey frame, "" for nothing at all.
func labelPicture(t testing.TB, w, h, module int, text string) *image.Gray {
	im := image.NewGray(image.Rect(0, 0, w, h))
	draw.Draw(im, im.Bounds(), image.NewUniform(color.Gray{Y: 120}), image.Point{}, draw.Src)
	if text == "" {
		return im
	}
	q, err := qrcode.New(text, qrcode.Medium) // as labels draws it
	require.NoError(t, err)
	bits := q.Bitmap()
	x0, y0 := (w-len(bits)*module)/2, (h-len(bits)*module)/2
	for r := range bits {
		for c, dark := range bits[r] {
			shade := uint8(232)
			if dark {
				shade = 24
			}
			box := image.Rect(x0+c*module, y0+r*module, x0+(c+1)*module, y0+(r+1)*module)
			draw.Draw(im, box, image.NewUniform(color.Gray{Y: shade}), image.Point{}, draw.Src)
		}
	}
	return im
}

// blurred is a picture that moved: the mean of many places along a line.
func blurred(im *image.Gray, by int) *image.Gray {
	out := image.NewGray(im.Rect)
	for y := range im.Rect.Dy() {
		for x := range im.Rect.Dx() {
			sum, n := 0, 0
			for d := -by; d <= by; d++ {
				if x+d >= 0 && x+d < im.Rect.Dx() {
					sum, n = sum+int(im.Pix[y*im.Stride+x+d]), n+1
				}
			}
			out.Pix[y*out.Stride+x] = uint8(sum / n)
		}
	}
	return out
}

// film writes the uncompressed 4:2:0 film that the browser plays in a loop.
func film(t testing.TB, fps int, pictures ...*image.Gray) string {
	path := filepath.Join(t.TempDir(), "camera.y4m")
	f, err := os.Create(path)
	require.NoError(t, err)
	defer f.Close()
	w := bufio.NewWriterSize(f, 1<<20)
	size := pictures[0].Rect
	fmt.Fprintf(w, "YUV4MPEG2 W%d H%d F%d:1 Ip A1:1 C420jpeg\n", size.Dx(), size.Dy(), fps)
	grey := bytes.Repeat([]byte{128}, size.Dx()*size.Dy()/2)
	for _, im := range pictures {
		w.WriteString("FRAME\n")
		w.Write(im.Pix)
		w.Write(grey)
	}
	require.NoError(t, w.Flush())
	return path
}

// recordedOf counts the pieces of a job for which a step was recorded.
func recordedOf(t testing.TB, s *shop, job string) (n, twice int) {
	j, err := s.bench.Job(context.Background(), job)
	require.NoError(t, err)
	for _, st := range j.States {
		if st.Kind != parts.Ticket && len(st.Past) > 0 {
			n++
		}
		if st.Seq > 2 {
			twice++ // listed, done, and something else
		}
	}
	return n, twice
}

const fortyEight = "qty,part,length,width,thickness,material\n48,Stile,34 1/2,2 1/4,3/4,white oak\n"

// Part after part goes past the camera, and nobody touches the screen. Between
// them come nothing, a blurred label, one of something else and one with a
// wrong character.
func TestTheCameraReadsFortyEightLabels(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	p := scanPhone(t, s.url, 390, filmed(film(t, 12, passing(t, job)...))...)
	p.open("/S/crosscut")
	p.startScan("/scan")
	require.True(t, see[bool](p, `isSecureContext`))
	p.press("#hands")
	p.cameraOn()
	require.Eventually(t, func() bool { n, _ := recordedOf(t, s, job.Job.Code); return n == 48 }, 100*time.Second, 100*time.Millisecond, "%s", p.text("body"))
	p.screen("scan-camera")
	p.await(`document.getElementById('waiting').hidden`)
	n, twice := recordedOf(t, s, job.Job.Code)
	assert.Equal(t, 48, n)
	assert.Zero(t, twice, "a label that comes again in the film is no second scan")
	assert.Contains(t, p.text("#last-text"), "Stile")
}

// passing are the pictures of a job's labels that go past a camera, with other
// things between them.
func passing(t testing.TB, job bench.JobPieces) []*image.Gray {
	var pictures []*image.Gray
	n := 0
	for _, st := range job.States {
		if st.Kind != parts.Single {
			continue
		}
		label := labelPicture(t, 480, 360, 6, "HTTP://192.168.1.20:8080/P/"+string(st.Part))
		between := []*image.Gray{labelPicture(t, 480, 360, 6, ""), blurred(label, 14),
			labelPicture(t, 480, 360, 6, "HTTPS://OTHER.EXAMPLE/ORDERS/7"), labelPicture(t, 480, 360, 6, "HTTP://192.168.1.20:8080/P/"+wrongMark(st.Part))}[n%4]
		pictures = append(pictures, label, label, label, between)
		n++
	}
	require.Equal(t, 48, n)
	return pictures
}

// From the picture to the answer on a phone that is four times slower, over
// loopback, 48 labels; and what the first load of the page costs.
func BenchmarkTheCamera(b *testing.B) {
	for range b.N {
		s, job := scanShop(b, fortyEight)
		p := scanPhone(b, s.url, 390, filmed(film(b, 6, passing(b, job)...))...)
		p.do(chromedp.Func(func(ctx context.Context, tg *chromedp.Target) error {
			_, err := cdp.Call(ctx, tg, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: 4})
			return err
		}))
		p.open("/S/crosscut")
		p.startScan("/scan")
		first := see[[]float64](p, `[performance.getEntriesByType('navigation'), performance.getEntriesByType('resource').filter(e => !e.name.includes('zxing'))].flat().map(e => e.transferSize)`)
		total := 0.
		for _, size := range first {
			total += size
		}
		b.ReportMetric(float64(len(first)), "requests")
		b.ReportMetric(total/1000, "kB-first")
		b.ReportMetric(see[float64](p, `performance.getEntriesByName('first-contentful-paint')[0].startTime`), "ms-paint")
		p.press("#hands")
		p.cameraOn()
		require.Eventually(b, func() bool { n, _ := recordedOf(b, s, job.Job.Code); return n == 48 }, 150*time.Second, 100*time.Millisecond)
		p.await(`document.getElementById('waiting').hidden`)
		answered := see[[]float64](p, `performance.getEntriesByName('answered').map(e => e.duration)`)
		b.ReportMetric(percentile(answered, .5), "ms-p50")
		b.ReportMetric(percentile(answered, .95), "ms-p95")
		p.do(chromedp.Navigate("about:blank")) // else its camera reads on beside the next round's
	}
}

// wrongMark is a mark with another check character.
func wrongMark(id parts.ID) string {
	last := "0"
	if strings.HasSuffix(string(id), "0") {
		last = "1"
	}
	return string(id[:len(id)-1]) + last
}

func percentile(values []float64, share float64) float64 {
	if len(values) == 0 {
		return -1
	}
	sorted := slices.Sorted(slices.Values(values))
	return sorted[int(share*float64(len(sorted)-1))]
}

func TestTheCameraMayBeRefusedOrMissing(t *testing.T) {
	s, _ := scanShop(t, fortyEight)
	missing := filepath.Join(t.TempDir(), "none.y4m")
	require.NoError(t, os.WriteFile(missing, []byte("no film"), 0o644))
	cases := []struct {
		name, phrase string
		flags        []chromedp.ExecAllocatorOption
	}{
		{"refused", "does not let the page use the camera", []chromedp.ExecAllocatorOption{chromedp.Flag("use-fake-ui-for-media-stream", "deny"), chromedp.Flag("use-fake-device-for-media-stream", true)}},
		{"missing", "No camera was found", filmed(missing)},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p := scanPhone(t, s.url, 390, c.flags...)
			p.startScan("/scan")
			p.cameraOn()
			p.await(`!document.getElementById('hint').hidden`)
			assert.Contains(t, p.text("#hint"), c.phrase)
			assert.True(t, see[bool](p, `document.getElementById('photo-way').offsetHeight >= 64`), "the other ways are still there")
			p.screen("scan-camera-" + c.name)
		})
	}
}
