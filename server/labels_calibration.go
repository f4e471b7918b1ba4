package server

import (
	"bytes"
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"strings"

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
	Read         []readLength
	Problem      *parts.Problem
	Kept         bool
}

// readLength is what somebody typed and how it was understood.
type readLength struct{ Typed, Length string }

// Grey gives the four lengths of a printer that is right, as they are typed.
func (p calibrationPage) Grey() [4]string {
	right := p.Right()
	var out [4]string
	for i, l := range [4]parts.Length{right.Left, right.Top, right.Across, right.Down} {
		out[i] = inMillimetres(l)
	}
	return out
}

// inMillimetres writes a length as it is read off a rule. Half a millimetre
// matters to a printer, so the page speaks of nothing else in every shop.
func inMillimetres(l parts.Length) string { return l.Format(parts.Style{Unit: parts.Millimetres}) }

// Roll reports whether the check is printed on a label of a roll.
func (p calibrationPage) Roll() bool { return p.Kind == labels.OnRoll }

// Off reports whether the printer is off on the chosen format.
func (p calibrationPage) Off() bool { return p.Adjust != labels.Adjust{} }

// Moved says how the print is put right: "moved 1 mm right and 0.5 mm up".
func (p calibrationPage) Moved() string {
	said := "moved " + shift(p.Adjust.DX, "right", "left") + " and " + shift(p.Adjust.DY, "down", "up")
	if p.Adjust.Scale != 0 {
		said += fmt.Sprintf(", drawn at %.2f %%", float64(p.Adjust.Scale)/1000)
	}
	return said
}

// shift is a way along one side, in words.
func shift(by parts.Length, plus, minus string) string {
	if by < 0 {
		return inMillimetres(-by) + " " + minus
	}
	return inMillimetres(by) + " " + plus
}

func (s *Server) calibration(c *gin.Context) error {
	return s.showCalibration(c, http.StatusOK, calibrationPage{Sheet: c.Query("sheet"), Kept: c.Query("kept") != ""})
}

// measuredFields are the four lengths a person measures, as the form names them.
var measuredFields = [4]string{"left", "top", "across", "down"}

// measured reads the four lengths; nil when the printer is said to be right. A
// bare number is in millimetres, as what stands in grey is. What was read is
// given too, because a slip of the unit looks like a printer far off.
func measured(c *gin.Context) (m *labels.Measured, typed [4]string, read []readLength, err error) {
	if c.PostForm("right") != "" {
		return nil, typed, nil, nil
	}
	for i, name := range measuredFields {
		typed[i] = c.PostForm(name)
	}
	var lengths [4]parts.Length
	for i, text := range typed {
		if lengths[i], err = parts.ParseLength(text, parts.Writing{Unit: parts.Millimetres}); err != nil {
			return nil, typed, read, err
		}
		read = append(read, readLength{Typed: strings.TrimSpace(text), Length: inMillimetres(lengths[i])})
	}
	return &labels.Measured{Left: lengths[0], Top: lengths[1], Across: lengths[2], Down: lengths[3]}, typed, read, nil
}

func (s *Server) saveCalibration(c *gin.Context) error {
	ctx := c.Request.Context()
	set, err := s.bench.Settings(ctx)
	if err != nil {
		return err
	}
	key := cmp.Or(c.PostForm("sheet"), set.Sheet)
	m, typed, read, err := measured(c)
	if err == nil {
		_, err = s.bench.SetAdjust(ctx, key, m)
	}
	if p := parts.AsProblem(err); p != nil {
		return s.showCalibration(c, statuses[p.Sort], calibrationPage{Sheet: key, Typed: typed, Read: read, Problem: p})
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
	if err := labels.WriteCalibration(&out, f.Format, s.tongue(ctx).Say); err != nil {
		return err
	}
	sendPDF(c, "printer-check.pdf", out.Bytes())
	return nil
}
