package server

import (
	"net/url"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/finish"
	"benchtally/templates"
)

// blankBlocks is how many blocks for further steps the editor has.
const blankBlocks = 2

// stepsEditor is the editor of one list of steps.
type stepsEditor struct {
	parts.Routing
	lang     templates.Language
	Blocks   []stepBlock
	Sent     int // blocks of the form
	Stations []parts.StationRow
	Products []bench.Product // that a wait may be for
	Mixes    []finish.Mix    // that a coat may be of
	Unit     parts.Unit
	Problem  *parts.Problem
}

// stepBlock is a block of the editor with the line it folds up to.
type stepBlock struct {
	block
	Number string
	Where  string
	Marks  string
	Open   bool
}

// Clocks lists the kinds of wait.
func (stepsEditor) Clocks() []parts.Clock { return parts.Clocks }

// Faces lists the faces of a part.
func (stepsEditor) Faces() []parts.Face { return parts.Faces }

// FaceUses lists what a step may do to a face: the field and the head of its
// column.
func (stepsEditor) FaceUses() [][2]string {
	return [][2]string{{"cuts", "loses wood"}, {"bears", "lies on table, fence, clamp"}, {"joins", "gets glue"}, {"coats", "gets a coat"}}
}

// Dimensions lists what a machine is set to, and what a step makes final.
func (stepsEditor) Dimensions() []parts.Dimension { return parts.Dimensions }

// DimensionName is a size as people say it.
func (e stepsEditor) DimensionName(d parts.Dimension) string { return dimensionName(e.lang, d) }

// Example is a size as the shop writes it.
func (e stepsEditor) Example() string {
	if e.Unit == parts.Millimetres {
		return "300 mm"
	}
	return `12"`
}

// showSteps shows the editor with what form says. A problem of one step opens
// its block.
func (s *Server) showSteps(c *gin.Context, status int, r parts.Routing, form url.Values, p *parts.Problem) error {
	stations, err := s.bench.Stations(c.Request.Context())
	if err != nil {
		return err
	}
	set, err := s.bench.Settings(c.Request.Context())
	if err != nil {
		return err
	}
	page := stepsEditor{lang: s.tongue(c).Language, Routing: r, Stations: stations, Unit: set.Unit, Problem: p}
	if page.Blocks, err = arranged(page.lang, form, p); err != nil {
		return err
	}
	if page.Products, err = s.bench.Products(c.Request.Context()); err != nil {
		return err
	}
	if page.Mixes, err = s.bench.Mixes(c.Request.Context()); err != nil {
		return err
	}
	page.Sent = len(page.Blocks)
	for i, b := range page.Blocks {
		page.Blocks[i].Where = page.where(b.block)
	}
	title := r.Name
	if r.Key == "" {
		title = "New steps"
	}
	s.page(c, status, "steps_edit", title, page)
	return nil
}

// where is the place of a block as people say it.
func (e stepsEditor) where(b block) string {
	at := b.Value("at")
	if clock, isWait := strings.CutPrefix(at, waitsFor); isWait {
		return e.lang.Say("waits:") + " " + e.lang.Say(clock)
	}
	for _, st := range e.Stations {
		if string(st.Key) == at {
			return st.Name
		}
	}
	return ""
}

// arranged gives the blocks of a form in the order of their numbers, numbered
// from one as the sentence about them counts, and blank ones at the end.
func arranged(l templates.Language, form url.Values, p *parts.Problem) ([]stepBlock, error) {
	blocks, err := readBlocks(form)
	if err != nil {
		return nil, err
	}
	for free := blanks(blocks); free < blankBlocks && len(blocks) < mostBlocks; free++ {
		addBlank(form)
		blocks = append(blocks, block{Index: len(blocks) + 1, form: form})
	}
	unsorted := sortBlocks(blocks) != nil
	var out []stepBlock
	for n, b := 0, 0; b < len(blocks); b++ {
		one := stepBlock{block: blocks[b], Number: blocks[b].Value("number"), Marks: strings.Join(blockMarks(l, blocks[b]), " · ")}
		one.Open = p != nil && p.Facts["block"] == one.Index
		if !one.gone() && !unsorted {
			n++
			one.Number = strconv.Itoa(n)
			one.Open = p != nil && p.Facts["step"] == n
		}
		out = append(out, one)
	}
	if len(blocks) == blanks(blocks) && len(out) > 0 {
		out[0].Open = true // a new list begins with its first step
	}
	return out, nil
}

// blanks counts the blocks that are no step yet.
func blanks(blocks []block) int {
	n := 0
	for _, b := range blocks {
		if b.Empty() {
			n++
		}
	}
	return n
}
