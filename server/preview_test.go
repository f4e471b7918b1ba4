package server_test

import (
	"html"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// benchList is a list of bench backs with ladders inside, everything said.
const benchList = `qty,part,length,width,thickness,material,assembly,spares,test pieces,per blank,pattern,hand
2,Crest rail,51 1/2,3 1/2,1 1/8,white oak,Bench back,,,,,
16,Rung,13,2,1/2,white oak,Bench back > Ladder,2,1,4,,
8,Post,18,2 1/2,1 1/8,white oak,Bench back > Ladder,1,,,"Post, two dowels",
`

// dowels saves the pattern of the list's posts, which has a hand.
func dowels(t *testing.T, s *shop) {
	t.Helper()
	hole := func(along parts.Length) parts.Hole {
		return parts.Hole{Into: parts.IntoNearEdge, Along: along * parts.Inch, Diameter: parts.Inch * 3 / 8, Depth: parts.Inch}
	}
	_, err := s.bench.SavePattern(t.Context(), parts.Pattern{Name: "Post, two dowels", Holes: []parts.Hole{hole(1), hole(3)}})
	require.NoError(t, err)
}

// cellsOf gives the cells that a preview sends along.
func cellsOf(t *testing.T, page string) string {
	t.Helper()
	table := regexp.MustCompile(`name="table" value="([^"]*)"`).FindStringSubmatch(page)
	require.Len(t, table, 2)
	return html.UnescapeString(table[1])
}

func TestAPreviewOfSeveralLevels(t *testing.T) {
	s := serve(t)
	dowels(t, s)
	form := url.Values{"job": {"Tern Point benches"}, "text": {benchList}, "unit": {"in"}}
	status, page := post(t, s.url+"/list/preview", form)
	require.Equal(t, 200, status)
	for _, says := range []string{
		"26 parts, 3 spares, 1 test piece, 10 assemblies.", "Each takes 1 Crest rail, 4 Ladder.", "Ladder, 4 in each Bench back",
		"Each takes 2 Rung, 1 Post.", "16 × Rung for Bench back &gt; Ladder", "bored: Post, two dowels",
		"Worth a look; you may go on as it is: Row 4, hand: Post, bored as “Post, two dowels”, is either a left or a right part.",
	} {
		assert.Contains(t, text(page), says)
	}
	for _, field := range []string{`name="tests:3" value="1"`, `name="per-blank:3" value="4"`, `name="spares:4" value="1"`,
		`name="made:Bench back &gt; Ladder" value="8"`, `<option value="test pieces" selected>`, `<option value="per blank" selected>`} {
		assert.Contains(t, page, field)
	}

	again := url.Values{"job": {"Tern Point benches"}, "unit": {"in"}, "table": {cellsOf(t, page)}, "again": {"1"}, "id": {shoptest.NewID().String()},
		"made:Bench back > Ladder": {"4"}, "tests:3": {"3"}, "per-blank:3": {"0"}, "tests:4": {"1"}, "field:hand": {"ignore"}}
	status, page = post(t, s.url+"/list", again)
	require.Equal(t, 200, status)
	assert.Contains(t, text(page), "4 test pieces, 6 assemblies.")
	assert.Contains(t, text(page), "Ladder, 2 in each Bench back How many Each takes 4 Rung, 2 Post. The list would give 8.")

	again.Set("made:Bench back", "3")
	status, page = post(t, s.url+"/list", again)
	require.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, text(page), "2 pieces of “Crest rail” cannot be shared out evenly among 3 of “Bench back”.")
	assert.Contains(t, text(page), "4 of “Ladder” cannot be shared out evenly among 3 of “Bench back”.")
	assert.Contains(t, page, "<legend>Ladder, in Bench back</legend>")

	again.Del("made:Bench back")
	again.Del("again")
	status, page = post(t, s.url+"/list", again)
	require.Equal(t, 200, status)
	assert.Contains(t, text(page), "2 in each Bench back")
	job, err := s.bench.Job(t.Context(), "TERN-POINT-BENCHES")
	require.NoError(t, err)
	assert.Equal(t, []int{16, 2, 3, 0}, []int{job.Lines[1].Quantity, job.Lines[1].Spares, job.Lines[1].Tests, job.Lines[1].PerBlank})
	assert.Equal(t, []int{8, 1, 1}, []int{job.Lines[2].Quantity, job.Lines[2].Spares, job.Lines[2].Tests})
	assert.Equal(t, "post-two-dowels", job.Lines[2].Pattern)

	again.Set("tests:3", "-1")
	status, page = post(t, s.url+"/list", again)
	require.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, text(page), "Row 3: there cannot be -1 test pieces.")
}

func TestAPatternThatNobodyMade(t *testing.T) {
	s := serve(t)
	status, page := post(t, s.url+"/list/preview", url.Values{"job": {"Tern Point benches"}, "text": {benchList}, "unit": {"in"}})
	require.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, text(page), "Row 4, pattern: The shop has no pattern of holes “Post, two dowels”.")
	form := url.Values{"job": {"Tern Point benches"}, "unit": {"in"}, "table": {cellsOf(t, page)}, "again": {"1"}, "field:pattern": {"ignore"}}
	status, _ = post(t, s.url+"/list", form)
	assert.Equal(t, 200, status, "the column may be left out")
}

// What the import page shows is at hand on a phone and on a desk.
func TestAPreviewOnEveryScreen(t *testing.T) {
	s := serve(t)
	dowels(t, s)
	file := filepath.Join(t.TempDir(), "list.csv")
	require.NoError(t, os.WriteFile(file, []byte(benchList), 0o644))
	for name, width := range map[string]int64{"phone": 390, "desk": 1280} {
		p := openPhone(t, s.url, width)
		p.open("/list")
		p.write("input[name=job]", "Tern Point benches")
		p.do(chromedp.SetUploadFiles(chromedp.CSS("input[type=file]"), []string{file}))
		p.tap("form.stack button.main")
		require.Contains(t, p.text("main"), "Ladder, 4 in each Bench back")
		p.fits()
		p.picture("preview-levels-" + name)
		p.write("input[name='made:Bench back > Ladder']", "4")
		p.write("input[name='tests:3']", "2")
		p.tap("button[name=again]")
		require.Contains(t, p.text("main"), "Ladder, 2 in each Bench back")
		require.Contains(t, strings.Join(strings.Fields(p.text(".sum")), " "), "2 test pieces")
		require.Equal(t, "2", see[string](p, `document.querySelector("input[name='tests:3']").value`))
	}
}
