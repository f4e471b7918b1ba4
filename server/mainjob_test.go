package server_test

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/chromedp/chromedp"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// TestTheMainJobOnAPhone does the whole job in a real browser of a phone's
// width: a list comes in, is looked over and confirmed, tickets and labels are
// printed, parts go from the saw to wrapped frames, one hole is plugged and
// bored again, and one part is remade.
func TestTheMainJobOnAPhone(t *testing.T) {
	s := serve(t)
	p := openPhone(t, s.url, 390)
	p.open("/")
	require.Contains(t, p.text("main"), "No job is open")
	p.picture("empty")

	job := bringList(t, p)
	printAll(t, p)
	mill(t, s, p, job)
	singlePart(t, s, p, job)
	plugOne(t, s, p, job)
	remakeOne(t, s, p, job)
	frameThrough(t, s, p, job)

	p.open("/")
	require.Contains(t, p.text("main"), "1 finished")
	p.fits()
	p.picture("floor-end")
}

// bringList uploads a list, looks it over, changes a number and confirms it.
func bringList(t *testing.T, p *phone) string {
	file := filepath.Join(t.TempDir(), "list.csv")
	require.NoError(t, os.WriteFile(file, []byte(shoptest.FramesList), 0o644))
	p.tap("main a.main")
	p.fits()
	p.picture("list")
	p.write("input[name=job]", "Tern Point lockers")
	p.do(chromedp.SetUploadFiles(chromedp.CSS("input[type=file]"), []string{file}))
	p.tap("form.stack button.main")
	require.Contains(t, p.text(".assembly"), "Each takes 1 Stile, 1 Rail")
	p.fits()
	p.picture("preview")
	p.write("input[name='made:Locker front']", "2")
	p.tap("button[name=again]")
	require.Contains(t, p.text(".assembly"), "Each takes 2 Stile, 2 Rail")
	p.tap(".twice button.main")
	require.Contains(t, p.text("main"), "9 parts, 1 spare, 2 assemblies")
	p.fits()
	p.picture("job")
	return "TERN-POINT-LOCKERS"
}

// printAll prints the tickets and the labels.
func printAll(t *testing.T, p *phone) {
	for i, what := range []string{"tickets", "labels"} {
		p.open("/jobs/TERN-POINT-LOCKERS")
		p.tap(fmt.Sprintf(".print form:nth-of-type(%d) button.main", i+1))
		require.Equal(t, what, strings.ToLower(p.text("main .kind")))
		pdf := see[string](p, `document.querySelector('a.main').href`)
		require.True(t, strings.HasSuffix(pdf, "/sheet.pdf"))
		p.picture("sheet-" + what)
	}
}

// pieces gives the job as it stands.
func pieces(t *testing.T, s *shop, job string) bench.JobPieces {
	j, err := s.bench.Job(context.Background(), job)
	require.NoError(t, err)
	return j
}

// named gives the mark of a piece by its name, tickets by the name of their line.
func named(t *testing.T, s *shop, job, name string, kind parts.Kind) string {
	j := pieces(t, s, job)
	for _, st := range j.States {
		if st.Kind == kind && !st.Scrapped && parts.PieceName(j.LineOf(st), st) == name {
			return string(st.Part)
		}
	}
	t.Fatalf("no %s %q", kind, name)
	return ""
}

// mill sets the phone to each station in turn and takes the tickets through
// the mill, with one tap for each ticket.
func mill(t *testing.T, s *shop, p *phone, job string) {
	stile, rail := named(t, s, job, "Stile", parts.Ticket), named(t, s, job, "Rail", parts.Ticket)
	at := func(station string, tickets ...string) {
		p.open("/S/" + station)
		for _, ticket := range tickets {
			p.open("/P/" + ticket)
			p.tap("form.offer button.main")
			require.Contains(t, p.text(".did"), "done", "%s at %s", ticket, station)
		}
	}
	at("crosscut", stile, rail)
	p.picture("ticket-done")
	at("rip", stile, rail)
	p.open("/P/" + stile)
	require.Contains(t, p.text(".stands"), "Resting")
	p.fits()
	p.picture("ticket-resting")
	s.clock.Pass(25 * time.Hour)
	for _, station := range []string{"joint", "rip", "plane", "crosscut"} {
		at(station, stile, rail)
	}
	p.open("/S/BORE")
	p.fits()
	p.picture("station")
	p.open("/P/" + stile)
	p.press("[data-less]") // one stays behind at the machine
	require.Equal(t, "3", see[string](p, `document.querySelector('.count input').value`))
	p.picture("ticket")
	p.tap("form.offer button.main")
	require.Contains(t, p.text(".did"), "3 ×")
	p.tap(".undo")
	require.Contains(t, p.text(".did"), "Taken back", p.text("main"))
	at("bore", stile, rail)
}

// singlePart takes one part by its typed mark, with look-alike letters.
func singlePart(t *testing.T, s *shop, p *phone, job string) {
	shelf := named(t, s, job, "Shelf", parts.Single)
	for i, step := range []string{"Rough length", "Rough width"} {
		p.open("/S/" + []string{"CROSSCUT", "RIP"}[i])
		p.write("#find-mark", strings.NewReplacer("0", "o", "1", "l").Replace(strings.ToLower(shelf)))
		p.tap(".find button")
		require.Equal(t, shelf, p.text(".mark"))
		p.tap("form.offer button.main")
		require.Contains(t, p.text(".did"), step+" done")
	}
}

// plugOne plugs a hole of one part and bores it again.
func plugOne(t *testing.T, s *shop, p *phone, job string) {
	part := named(t, s, job, "Stile 1", parts.Single)
	p.open("/P/" + part)
	p.picture("part")
	p.press(".flaw-hole-off summary")
	p.write(".flaw-hole-off input[name=note]", "lower end, second hole")
	p.tap(".flaw-hole-off button.main")
	require.Contains(t, p.text(".stands"), "Setting")
	p.fits()
	p.picture("part-plugged")
	s.clock.Pass(3 * time.Hour)
	p.open("/P/" + part)
	p.tap("form.offer button.main")
	require.Contains(t, p.text(".did"), "Trim flush, bore again done")
	p.open("/P/" + part)
	require.Contains(t, p.text(".stands"), "Ready for its assembly")
}

// remakeOne scraps a part, lets the spare take its place, and remakes another.
func remakeOne(t *testing.T, s *shop, p *phone, job string) {
	rail := named(t, s, job, "Rail 2", parts.Single)
	p.open("/P/" + rail)
	p.press(".remake summary")
	p.picture("part-spoiled")
	p.write(".remake input[name=reason]", "Split")
	p.tap(".remake button[name=spare]")
	require.Contains(t, p.text(".did"), "takes its place")
	p.picture("part-replaced")
	stile := named(t, s, job, "Stile 4", parts.Single)
	p.open("/P/" + stile)
	p.press(".remake summary")
	p.write(".remake input[name=reason]", "Cut short")
	p.tap(".remake button.main")
	require.Contains(t, p.text(".did"), "takes its place")
	p.tap(".did a.button")
	require.Contains(t, p.text(".history"), "Started over in place of "+stile)
	p.open("/labels")
	require.Contains(t, p.text("main"), "3 labels wait")
	p.fits()
	p.picture("labels")
	p.tap("main form button.main")
	p.open("/labels")
	require.Contains(t, p.text("main"), "No label waits")
}

// frameThrough takes a frame through all the stations that are left.
func frameThrough(t *testing.T, s *shop, p *phone, job string) {
	frame := named(t, s, job, "Locker front 1", parts.Assembly)
	p.open("/S/GLUE")
	p.open("/P/" + frame)
	p.picture("frame-kit")
	p.tap("form.offer button.main")
	require.Contains(t, p.text(".did"), "Dry fit done")
	p.tap("form.offer button.main")
	require.Contains(t, p.text(".did"), "Glue up, clamps on done")
	require.Contains(t, p.text(".stands"), "In clamps")
	p.picture("frame-clamps")
	refused(t, s, p, frame)
	for _, station := range []string{"sand", "stain", "stain", "topcoat", "topcoat", "wrap"} {
		s.clock.Pass(25 * time.Hour)
		p.open("/S/" + station)
		p.open("/P/" + frame)
		p.tap("form.offer button.main")
		require.Contains(t, p.text(".did"), "done")
	}
	p.open("/P/" + frame)
	require.Contains(t, p.text(".stands"), "Finished")
	p.fits()
	p.picture("frame-finished")
	other := named(t, s, job, "Locker front 2", parts.Assembly)
	p.open("/P/" + other)
	p.tap("form.offer button.main")
	require.Contains(t, p.text(".refused"), "is not complete")
	p.picture("frame-short")
}

// refused shows what a page of before says to a scan that comes too early.
func refused(t *testing.T, s *shop, p *phone, frame string) {
	_, err := s.bench.Scan(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: frame, Station: "sand"})
	require.Equal(t, "waiting", parts.CodeOf(err))
	p.open("/S/SAND")
	p.open("/P/" + frame)
	require.Contains(t, p.text("form.offer .early"), "The joint has set")
	p.picture("frame-early")
}

// TestPicturesOfTheDesk looks at the pages of the office at a desk's width.
func TestPicturesOfTheDesk(t *testing.T) {
	if _, err := exec.LookPath("chromium"); err != nil {
		shoptest.SkipOrFail(t, "no chromium on this machine: the pages are not tried in a browser")
	}
	s := serve(t)
	shoptest.ListJob(t, s.bench, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	for _, width := range []int64{390, 1280} {
		p := openPhone(t, s.url, width)
		for _, path := range []string{"/", "/wall", "/jobs", "/jobs/TERN-POINT-LOCKERS", "/list", "/labels", "/stations", "/steps", "/steps/frame", "/steps/new", "/settings", "/late", "/P/ZZZZ", "/S/plane"} {
			p.open(path)
			p.fits()
			p.picture(fmt.Sprintf("desk%d%s", width, strings.NewReplacer("/", "-", "?", "-", "=", "").Replace(path)))
		}
	}
}
