package server_test

import (
	"context"
	"encoding/csv"
	"fmt"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	ics "github.com/arran4/golang-ical"
	"github.com/chromedp/cdproto/cdp"
	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/finish"
	"benchtally/parts/shoptest"
)

// hostile are names that would do something wherever a page forgets that they
// are text. The longest name that may be is 40 characters.
var hostile = []string{
	`<script>hit=1</script>`,
	`"><img src=x onerror=hit=1>`,
	`'-(hit=1)-'`,
	`</title><svg onload=hit=1>`,
	`</script><b onclick=hit=1>b`,
	`=HYPERLINK("http://x","y")`,
	`{{.Demo}}${hit=1}%s%d%!`,
	"\u202Egnits\u202C \u2066x\u2069",
	`javascript:hit=1//` + "`",
	strings.Repeat("W", 40),
}

// hostileShop is a shop where everything that people may name has each of
// these names. What is refused must be refused with a sentence.
func hostileShop(t *testing.T) (*shop, map[string][]string) {
	s, ctx := serve(t), context.Background()
	b, taken := s.bench, map[string]int{}
	try := func(kind string, err error) {
		if err == nil {
			taken[kind]++
			return
		}
		require.NotNil(t, parts.AsProblem(err), "%s: %v", kind, err)
	}
	var rows strings.Builder
	list := csv.NewWriter(&rows)
	list.Write([]string{"qty", "part", "length", "width", "thickness", "material", "assembly", "notes"})
	all, err := b.Routings(ctx)
	require.NoError(t, err)
	at := map[string][]string{}
	for i, h := range hostile {
		if listed(h) {
			list.Write([]string{"2", h, "30", "3", "3/4", h, fmt.Sprintf("<img src=x onerror=hit=1 %d", i), h + " " + h})
		}
		key := parts.Station(fmt.Sprintf("hostile%d", i))
		try("station", b.SaveStation(ctx, parts.StationRow{Key: key, Name: h, Caution: h + h, Place: 100 + i}))
		try("person", b.AddPerson(ctx, h))
		_, err := b.AddCart(ctx, shoptest.NewID(), h, h)
		try("cart", err)
		_, err = b.SaveDefect(ctx, parts.Defect{Name: h, Steps: []parts.Step{{Name: h, Station: key}}})
		try("defect", err)
		_, err = b.SavePattern(ctx, parts.Pattern{Name: h, Holes: []parts.Hole{{Into: parts.IntoShow, Along: 2 * parts.Inch, Across: parts.Inch, Diameter: parts.Inch / 4}}})
		try("pattern", err)
		r := all[0]
		r.ID, r.Key, r.Name, r.Steps = 0, "", h, slices.Clone(r.Steps)
		r.Steps[0].Name = h
		_, err = b.SaveRouting(ctx, r)
		try("steps", err)
		products, err := b.Products(ctx)
		require.NoError(t, err)
		p := products[0]
		p.Key, p.Name, p.Version = "", h, 0
		_, err = b.SaveProduct(ctx, p)
		try("product", err)
		m, err := b.SaveMix(ctx, finish.Mix{Name: h, Coat: "stain", Method: "wipe", Coverage: 12 * finish.One,
			Components: []finish.Component{{Name: h, Parts: 3 * finish.One}, {Name: h + "2", Parts: 1 * finish.One, Colour: true}}}, nil)
		try("mix", err)
		if err == nil {
			at["/finish/mixes/:key"] = append(at["/finish/mixes/:key"], "/finish/mixes/"+m.Key)
		}
	}
	for _, kind := range []string{"station", "person", "cart", "defect", "pattern", "steps", "product", "mix"} {
		assert.GreaterOrEqual(t, taken[kind], 6, "%s: too few of these names were taken to show anything", kind)
	}
	set, err := b.Settings(ctx)
	require.NoError(t, err)
	set.Shop = hostile[1]
	require.NoError(t, b.SaveSettings(ctx, set))
	list.Flush()
	job := shoptest.ListJob(t, b, hostile[0]+hostile[1], rows.String(), nil)
	deeds(t, s, job, at)
	return s, at
}

// listed reports whether a cut list takes a name: what turns the writing round
// and what begins like a formula are refused there, see the room cutlist.
func listed(name string) bool {
	return !strings.ContainsAny(name, "\u202E\u2066") && !strings.HasPrefix(name, "=")
}

// deeds does with the pieces of a hostile job what a shop does, in hostile
// words, and gives addresses where that is seen.
func deeds(t *testing.T, s *shop, job bench.JobPieces, at map[string][]string) {
	ctx := context.Background()
	photo, err := s.bench.AddPhoto(ctx, jpegPicture(t))
	require.NoError(t, err)
	var singles, marks []string
	for _, st := range job.States {
		if st.Kind == parts.Single && st.Number == 1 {
			singles = append(singles, string(st.Part))
		}
		if st.Number <= 1 {
			marks = append(marks, string(st.Part))
		}
	}
	do := func(verb func(context.Context, bench.Request) (bench.Answer, error), r bench.Request) {
		r.ID = shoptest.NewID()
		a, err := verb(ctx, r)
		require.NoError(t, err)
		require.Nil(t, a.Problem, "%v", a.Problem)
	}
	for i, mark := range singles {
		h := hostile[i%len(hostile)]
		switch i % 4 {
		case 0:
			do(s.bench.Hold, bench.Request{Mark: mark, By: h, Reason: h})
		case 1:
			do(s.bench.Mend, bench.Request{Mark: mark, By: h, Defect: "tear-out", Spot: h, Note: h, Photo: photo})
		case 2:
			do(s.bench.Scan, bench.Request{Mark: mark, By: h, Station: "crosscut", Note: h})
		case 3:
			do(s.bench.Remake, bench.Request{Mark: mark, By: h, Reason: h, Note: h})
		}
	}
	order, err := s.bench.Print(ctx, bench.PrintRequest{ID: shoptest.NewID(), Job: job.Job.Code, What: "labels", Marks: singles[:2]})
	require.NoError(t, err)
	for _, mark := range marks {
		at["/P/:mark"] = append(at["/P/:mark"], "/P/"+mark)
	}
	at["/P/:mark/label"] = []string{"/P/" + singles[0] + "/label"}
	at["/P/:mark/signed"] = []string{"/P/" + singles[0] + "/signed"}
	at["/labels/:order"] = []string{fmt.Sprintf("/labels/%d", order.ID)}
	at["/jobs/:code"] = []string{"/jobs/" + job.Job.Code}
	at["/S/:station"] = []string{"/S/hostile0", "/S/hostile1", "/S/hostile9", "/S/crosscut"}
	at["/steps/:key"] = []string{"/steps/new", "/steps/frame"}
	at["/W/:person"] = []string{"/W/1"}
	at["/join"] = []string{"/join?code=" + url.QueryEscape(hostile[1])}
	at["/find"] = []string{"/find?mark=" + url.QueryEscape(hostile[0]), "/find?mark=" + url.QueryEscape(hostile[1])}
}

// pagesOf are the pages of the router, with the addresses that are known for
// those which want a value; those that nobody may have are left out.
func pagesOf(t *testing.T, s *shop, at map[string][]string) []string {
	var out []string
	for _, pattern := range addresses(t) {
		switch named, known := at[pattern]; {
		case known:
			out = append(out, named...)
		case strings.HasPrefix(pattern, "/api/"), path.Ext(pattern) != "", strings.HasSuffix(pattern, "/stream"), strings.ContainsAny(pattern, ":*"):
		case isPage(t, s.url+pattern):
			out = append(out, pattern)
		}
	}
	for _, h := range hostile {
		out = append(out, "/nothing/"+url.PathEscape(h), "/P/"+url.PathEscape(h), "/drying?place="+url.QueryEscape(h), "/?job="+url.QueryEscape(h))
	}
	return out
}

// watching notes in every page what the content policy stopped, and what ran.
const watching = `window.stopped = []; document.addEventListener('securitypolicyviolation', e => stopped.push(e.violatedDirective + ' ' + e.blockedURI + ' ' + e.sample));
window.alert = window.confirm = window.prompt = () => { window.hit = 1; };`

// seenHere gives what is wrong with the page in view: a name that ran, one
// that the policy had to stop, one that became an element, and whatever is
// wider than a phone.
const seenHere = `[window.hit && 'it ran', ...stopped,
	...[...document.querySelectorAll('img[src="x"], script:not([src]), svg[onload], [onerror], [onclick], [href^="javascript:" i]')].map(e => 'became an element: ' + e.outerHTML.slice(0, 200)),
	document.documentElement.scrollWidth > 390 && 'wide: ' + document.documentElement.scrollWidth + ' ' + [...document.querySelectorAll('body *')].filter(e => e.getBoundingClientRect().right > 391 && !e.closest('.scroll')).slice(0, 3).map(e => e.outerHTML.slice(0, 160)).join(' ')
].filter(Boolean)`

func (p *phone) watch() {
	p.Helper()
	p.do(chromedp.Func(func(ctx context.Context, tg *chromedp.Target) error {
		_, err := cdp.Call(ctx, tg, cdpage.AddScriptToEvaluateOnNewDocument, cdpage.AddScriptToEvaluateOnNewDocumentParams{Source: watching})
		return err
	}))
}

// Names are text, on every page and whatever they are: nothing in them runs,
// becomes an element, or pushes the page out of the phone.
func TestHostileNamesAreText(t *testing.T) {
	s, at := hostileShop(t)
	p := openPhone(t, s.url, 390)
	p.ctx = context.WithoutCancel(p.ctx)
	p.watch()
	p.open("/jobs") // the watch itself works
	see[bool](p, `(document.querySelector('main').insertAdjacentHTML('beforeend', '<img src=x onerror=hit=1>'), true)`)
	p.await(`stopped.length > 0`)
	require.Contains(t, strings.Join(see[[]string](p, seenHere), "\n"), "became an element")
	require.False(t, see[bool](p, `!!window.hit`), "the policy lets no script stand in a page")

	pages := pagesOf(t, s, at)
	require.Greater(t, len(pages), 60)
	shown := 0
	for _, page := range pages {
		p.open(page)
		p.do(chromedp.Evaluate[chromedp.Void](`void(` + unfold + `)`))
		assert.Empty(t, see[[]string](p, seenHere), page)
		if see[bool](p, `document.body.innerText.includes('onerror=hit=1') || document.body.innerText.includes('<script>hit=1')`) {
			shown++
		}
	}
	assert.Greater(t, shown, 20, "pages that show these names as they are written")
	p.picture("hostile")
	p.scanHostile(t, at["/P/:mark"])
}

// scanHostile looks at these pieces on the scanning page, whose script draws
// them itself, and through its lists of what is wrong.
func (p *phone) scanHostile(t *testing.T, pages []string) {
	p.open("/S/hostile1")
	p.startScan("/scan")
	for _, page := range pages[:min(len(pages), 12)] {
		p.wedge(path.Base(page))
		p.await(fmt.Sprintf(`document.body.innerText.includes(%q) && document.getElementById('card').innerText.trim().length > 3`, path.Base(page)))
		assert.Empty(t, see[[]string](p, seenHere), "%s scanned", page)
		if see[bool](p, `[...document.querySelectorAll('#card button, #act button')].some(b => b.offsetParent && b.innerText.includes('Something is off'))`) {
			p.choose("Something is off")
			p.await(`document.body.innerText.includes('onerror=hit=1')`)
			assert.Empty(t, see[[]string](p, seenHere), "what is off with %s", page)
		}
	}
}

// A name that is far too long is refused with a sentence, wherever one is
// taken, and nothing is kept of it.
func TestNamesThatAreFarTooLong(t *testing.T) {
	s := serve(t)
	long := strings.Repeat("x", 10_000)
	for _, f := range []struct {
		address string
		form    url.Values
	}{
		{"/stations", url.Values{"key": {"longone"}, "name": {long}}},
		{"/carts", url.Values{"id": {shoptest.NewID().String()}, "name": {long}}},
		{"/badges", url.Values{"name": {long}}},
		{"/settings", url.Values{"shop": {long}, "zone": {"UTC"}, "unit": {"in"}, "denominator": {"32"}, "paper": {"letter"}, "sheet": {"letter-3x10"}}},
		{"/patterns", url.Values{"name": {long}}},
		{"/defects", url.Values{"name": {long}}},
		{"/finish/mixes", url.Values{"name": {long}, "component-1-name": {long}, "component-1-parts": {"1"}}},
		{"/list/preview", url.Values{"job": {"Tern Point benches"}, "text": {"Part,Qty,Length\n" + long + ",1,10\n"}}},
	} {
		status, page := post(t, s.url+f.address, f.form)
		assert.GreaterOrEqual(t, status, 400, f.address)
		assert.Less(t, status, http.StatusInternalServerError, f.address)
		assert.Regexp(t, `[a-z]\.`, text(page), f.address)
	}
	status, page := post(t, s.url+"/list/preview", url.Values{"job": {"Tern Point benches"}, "text": {"Part,Qty,Length\nRail,1,10\n" + strings.Repeat("y", 3_000) + ",1,10\n"}})
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Regexp(t, `(?i)row.{0,20}3`, text(page), "the row is named")
}

// torn gives the words of up to fourteen letters that a page breaks in two.
// What is to be copied letter by letter may break anywhere.
const torn = `(() => { const out = [], all = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	for (let n = all.nextNode(); n; n = all.nextNode()) {
		if (!n.parentElement.checkVisibility() || n.parentElement.closest('.mono, pre, .copy, script, svg')) continue;
		for (const w of n.data.matchAll(/(?<![^\s(])\p{L}{3,14}(?![^\s.,:;)])/gu)) {
			const r = document.createRange(); r.setStart(n, w.index); r.setEnd(n, w.index + w[0].length);
			if (new Set([...r.getClientRects()].map(b => Math.round(b.top))).size > 1) out.push(w[0] + ' in ' + n.parentElement.outerHTML.slice(0, 120));
		}
	}
	return out; })()`

// Room for long names does not tear the usual ones.
func TestNoWordIsTorn(t *testing.T) {
	at := demo(t)
	p := openPhone(t, at, 390)
	p.ctx = context.WithoutCancel(p.ctx)
	for _, page := range walk(t, at) {
		p.open(page)
		p.do(chromedp.Evaluate[chromedp.Void](`void(` + unfold + `)`))
		assert.Empty(t, see[[]string](p, torn), page)
	}
}

// Source: RFC 5545, 3.1 (a line is at most 75 octets and ends in CRLF; what
// goes on begins with a space) and 3.3.11 (backslash, semicolon, comma and line
// end are written with a backslash); read back by the library's own parser.
func TestHostileNamesAreTextInACalendar(t *testing.T) {
	s, ctx := serve(t), context.Background()
	name := `Rail; one, \two "Ü` + strings.Repeat("ü", 30) + `" BEGIN:VALARM`
	set, err := s.bench.Settings(ctx)
	require.NoError(t, err)
	set.Shop = "Shop\r\nBEGIN:VEVENT; a, b" // as a page sends it, if the field lets it through
	if err := s.bench.SaveSettings(ctx, set); err != nil {
		require.NotNil(t, parts.AsProblem(err))
		set.Shop = "Shop; a, b"
		require.NoError(t, s.bench.SaveSettings(ctx, set))
	}
	var rows strings.Builder
	list := csv.NewWriter(&rows)
	list.WriteAll([][]string{{"qty", "part", "length", "width", "thickness", "material"}, {"1", name, "30", "10", "3/4", "white oak"}})
	job := shoptest.ListJob(t, s.bench, "Tern Point benches", rows.String(), nil)
	_, err = s.bench.Scan(ctx, bench.Request{ID: shoptest.NewID(), Mark: string(job.States[0].Part), Station: "topcoat", Override: true, By: "Ann; b"})
	require.NoError(t, err)
	status, feed := get(t, s.url+"/drying.ics")
	require.Equal(t, 200, status)
	assert.Equal(t, strings.Count(feed, "\n"), strings.Count(feed, "\r\n"))
	for line := range strings.SplitSeq(strings.TrimSuffix(feed, "\r\n"), "\r\n") {
		assert.LessOrEqual(t, len(line), 75, line)
		assert.Regexp(t, `^( |[A-Z-]+[;:])`, line)
		assert.True(t, utf8.ValidString(line), "no letter is cut in two: %q", line)
	}
	unfolded := strings.ReplaceAll(feed, "\r\n ", "")
	assert.Equal(t, strings.Count(unfolded, "\r\nBEGIN:VEVENT"), strings.Count(unfolded, "\r\nEND:VEVENT"))
	assert.NotContains(t, unfolded, "\nBEGIN:VALARM")
	assert.Contains(t, unfolded, `Rail\; one\, \\two "Ü`)
	cal, err := ics.ParseCalendar(strings.NewReader(feed))
	require.NoError(t, err)
	require.NotEmpty(t, cal.Events())
	for _, e := range cal.Events() {
		assert.Contains(t, ics.FromText(e.GetProperty(ics.ComponentPropertySummary).Value), name)
	}
}
