package server

import (
	"cmp"
	"net/http"
	"net/url"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// formatsPage shows the formats labels can be printed on, and an editor for
// the shop's own.
type formatsPage struct {
	Formats []formatRow
	Typed   bench.TypedFormat // what could not be kept; as in a new page otherwise
	Open    bool
	Problem *parts.Problem
	Kept    string // key of the one that was kept just now
}

// formatRow is one format with the text of its editor.
type formatRow struct {
	bench.Format
	Form bench.TypedFormat
	Open bool // shown at once, because it could not be kept
}

func (s *Server) formats(c *gin.Context) error {
	return s.showFormats(c, http.StatusOK, bench.TypedFormat{}, nil)
}

func (s *Server) saveFormat(c *gin.Context) error {
	ctx := c.Request.Context()
	set, err := s.bench.Settings(ctx)
	if err != nil {
		return err
	}
	typed := typedFormat(c)
	f, err := typed.Read(set)
	var kept bench.Format
	if err == nil {
		kept, err = s.bench.SaveFormat(ctx, f)
	}
	if p := parts.AsProblem(err); p != nil {
		return s.showFormats(c, statuses[p.Sort], typed, p)
	}
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/labels/formats?kept="+url.QueryEscape(kept.Key)+"#"+kept.Key)
	return nil
}

// typedFormat reads the form of a format.
func typedFormat(c *gin.Context) bench.TypedFormat {
	return bench.TypedFormat{
		Key: c.PostForm("key"), Name: c.PostForm("name"), Kind: c.PostForm("kind"),
		Paper: c.PostForm("paper"), Unit: c.PostForm("unit"),
		Columns: c.PostForm("columns"), Rows: c.PostForm("rows"), DPI: c.PostForm("dpi"),
		PageWide: c.PostForm("page_wide"), PageHigh: c.PostForm("page_high"),
		LabelWide: c.PostForm("label_wide"), LabelHigh: c.PostForm("label_high"),
		Left: c.PostForm("left"), Top: c.PostForm("top"), PitchX: c.PostForm("across"), PitchY: c.PostForm("down"),
		Corner: c.PostForm("corner"), HoleWide: c.PostForm("hole"), HoleDown: c.PostForm("hole_down"),
	}
}

// showFormats shows the page, with what a person typed and why it could not be
// kept, if anything.
func (s *Server) showFormats(c *gin.Context, status int, typed bench.TypedFormat, problem *parts.Problem) error {
	ctx := c.Request.Context()
	all, err := s.bench.Formats(ctx)
	if err != nil {
		return err
	}
	set, err := s.bench.Settings(ctx)
	if err != nil {
		return err
	}
	fresh := bench.TypedFormat{Kind: "sheet", Paper: set.Paper, Unit: string(set.Unit)}
	page := formatsPage{Typed: fresh, Open: problem != nil, Problem: problem, Kept: c.Query("kept")}
	if problem != nil {
		page.Typed = typed
		page.Typed.Kind, page.Typed.Paper, page.Typed.Unit = cmp.Or(typed.Kind, fresh.Kind), cmp.Or(typed.Paper, fresh.Paper), cmp.Or(typed.Unit, fresh.Unit)
	}
	for _, f := range all {
		row := formatRow{Format: f, Form: bench.TypedOf(f.Format)}
		if problem != nil && f.Own && typed.Key == f.Key {
			row.Form, row.Open = typed, true
			page.Typed, page.Open = fresh, false
		}
		row.Form.Unit = cmp.Or(row.Form.Unit, fresh.Unit)
		page.Formats = append(page.Formats, row)
	}
	s.page(c, status, "formats", "Label formats", page)
	return nil
}
