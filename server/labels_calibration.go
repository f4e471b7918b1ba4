package server

import (
	"bytes"
	"cmp"
	"fmt"
	"net/http"
	"net/url"

	"github.com/gin-gonic/gin"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/bench"
)

// calibrationPage is where a person says how far the printer is off.
type calibrationPage struct {
	Formats      []bench.Format
	bench.Format           // the one that is asked about
	Sheet        string    // its key
	Typed        [4]string // left, top, across, down, as they were typed
	Problem      *parts.Problem
	Kept         bool
}

// Roll reports whether the check is printed on a label of a roll.
func (p calibrationPage) Roll() bool { return p.Kind == labels.OnRoll }

// Off reports whether the printer is off on the chosen format.
func (p calibrationPage) Off() bool { return p.Adjust != labels.Adjust{} }

// Moved says how the print is put right: "moved 1 mm right and 0.5 mm up".
func (p calibrationPage) Moved(st parts.Style) string {
	said := "moved " + shift(p.Adjust.DX, st, "right", "left") + " and " + shift(p.Adjust.DY, st, "down", "up")
	if p.Adjust.Scale != 0 {
		said += fmt.Sprintf(", drawn at %.2f %%", float64(p.Adjust.Scale)/1000)
	}
	return said
}

// shift is a way along one side, in words. Half a millimetre matters here, so
// it is in millimetres in every shop.
func shift(by parts.Length, st parts.Style, plus, minus string) string {
	st.Unit = parts.Millimetres
	if by < 0 {
		return (-by).Format(st) + " " + minus
	}
	return by.Format(st) + " " + plus
}

func (s *Server) calibration(c *gin.Context) error {
	return s.showCalibration(c, http.StatusOK, calibrationPage{Sheet: c.Query("sheet"), Kept: c.Query("kept") != ""})
}

// measuredFields are the four lengths a person measures, as the form names them.
var measuredFields = [4]string{"left", "top", "across", "down"}

// measured reads the four lengths; nil when the printer is said to be right.
func measured(c *gin.Context, w parts.Writing) (*labels.Measured, [4]string, error) {
	var typed [4]string
	if c.PostForm("right") != "" {
		return nil, typed, nil
	}
	for i, name := range measuredFields {
		typed[i] = c.PostForm(name)
	}
	var lengths [4]parts.Length
	for i, text := range typed {
		var err error
		if lengths[i], err = parts.ParseLength(text, w); err != nil {
			return nil, typed, err
		}
	}
	return &labels.Measured{Left: lengths[0], Top: lengths[1], Across: lengths[2], Down: lengths[3]}, typed, nil
}

func (s *Server) saveCalibration(c *gin.Context) error {
	ctx := c.Request.Context()
	set, err := s.bench.Settings(ctx)
	if err != nil {
		return err
	}
	key := cmp.Or(c.PostForm("sheet"), set.Sheet)
	m, typed, err := measured(c, parts.Writing{Unit: set.Unit})
	if err == nil {
		_, err = s.bench.SetAdjust(ctx, key, m)
	}
	if p := parts.AsProblem(err); p != nil {
		return s.showCalibration(c, statuses[p.Sort], calibrationPage{Sheet: key, Typed: typed, Problem: p})
	}
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/labels/calibration?kept=1&sheet="+url.QueryEscape(key))
	return nil
}

// showCalibration shows the page for one format, the shop's when none is named.
func (s *Server) showCalibration(c *gin.Context, status int, page calibrationPage) error {
	ctx := c.Request.Context()
	set, err := s.bench.Settings(ctx)
	if err != nil {
		return err
	}
	if page.Formats, err = s.bench.Formats(ctx); err != nil {
		return err
	}
	wanted := cmp.Or(page.Sheet, set.Sheet)
	page.Sheet = ""
	for _, f := range page.Formats {
		if page.Sheet == "" || f.Key == wanted {
			page.Sheet, page.Format = f.Key, f
		}
	}
	s.page(c, status, "calibration", "Printer check", page)
	return nil
}

// calibrationPDF is the page to be measured, of the format that is asked for or
// the shop's.
func (s *Server) calibrationPDF(c *gin.Context) error {
	ctx := c.Request.Context()
	set, err := s.bench.Settings(ctx)
	if err != nil {
		return err
	}
	f, err := s.bench.Format(ctx, cmp.Or(c.Query("sheet"), set.Sheet))
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if err := labels.WriteCalibration(&out, f.Format); err != nil {
		return err
	}
	sendPDF(c, "printer-check.pdf", out.Bytes())
	return nil
}
