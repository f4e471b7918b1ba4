package server

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/air"
	"benchtally/parts/bench"
	"benchtally/parts/drying"
)

// lastShown is how many of the last readings the page lists.
const lastShown = 8

// dryingPage is everything that is wet.
type dryingPage struct {
	bench.Drying
	Words   words
	Asked   url.Values // what its live picture is asked with: place, by, scale
	Place   string     // the one place it shows; "" for all
	ByPlace bool

	Readings []bench.LastReading
	Where    []bench.Place // of the form of a reading
	Usual    air.Air
	Reading  readingForm
	Feed     string // the address of its calendar
	Problem  *parts.Problem
	Kept     bool
}

// Clocks are the waits that are told apart, in the order a part meets them.
func (dryingPage) Clocks() []parts.Clock {
	return []parts.Clock{parts.Clamps, parts.Setting, parts.Drying}
}

// Whens are the times by which people plan.
func (dryingPage) Whens() []drying.When { return drying.Whens }

// Pieces counts the pieces of rows.
func (dryingPage) Pieces(rows []drying.Row) int { return drying.Pieces(rows) }

// PlacesOf gives the places of rows, each with its own.
func (dryingPage) PlacesOf(rows []drying.Row) []placeRows {
	var out []placeRows
	at := map[string]int{}
	for _, r := range rows {
		i, seen := at[r.Place]
		if !seen {
			i = len(out)
			at[r.Place] = i
			out = append(out, placeRows{Name: r.Where, Key: r.Place})
		}
		out[i].Rows = append(out[i].Rows, r)
	}
	return out
}

// placeRows are the rows of one place.
type placeRows struct {
	Name, Key string
	Rows      []drying.Row
}

// Degrees writes a temperature in the shop's scale, or in the one that a person
// chose on this phone.
func (w words) Degrees(celsius float64) string { return parts.Degrees(celsius).In(w.thermometer()) }

// Percent writes a share of water with one decimal at most.
func (words) Percent(v float64) string {
	return strings.TrimSuffix(fmt.Sprintf("%.1f", v), ".0") + " %"
}

// Why is a reason as a sentence.
func (w words) Why(r parts.Reason) string {
	return fmt.Sprintf(w.Language.Say(r.Say), w.args(r.Args)...)
}

// WhyShort is a reason in a few words.
func (w words) WhyShort(r parts.Reason) string {
	return fmt.Sprintf(w.Language.Say(r.In), w.args(r.Few)...)
}

// Stamp is a moment as scripts read it.
func (words) Stamp(t time.Time) int64 { return t.UnixMilli() }

// Never reports whether nothing progresses towards t.
func (words) Never(t time.Time) bool { return t.Equal(parts.Never) }

func (s *Server) drying(c *gin.Context) error {
	return s.showDrying(c, http.StatusOK, dryingPage{Kept: c.Query("kept") != ""})
}

// showDrying shows the page; page has what a form said.
func (s *Server) showDrying(c *gin.Context, status int, page dryingPage) error {
	ctx := c.Request.Context()
	asked := c.Request.URL.Query()
	asked.Set("scale", cookie(c, "scale"))
	look, err := s.lookDrying(ctx, asked)
	if err != nil {
		return err
	}
	look.Problem, look.Kept, look.Reading = page.Problem, page.Kept, page.Reading
	if look.Readings, err = s.bench.LastReadings(ctx, lastShown); err != nil {
		return err
	}
	if look.Where, err = s.bench.Places(ctx); err != nil {
		return err
	}
	if look.Usual, err = s.bench.UsualAir(ctx); err != nil {
		return err
	}
	look.Feed = s.feed(c, look)
	if at := c.Query("at"); at != "" && look.Problem == nil { // one of the last is to be put right
		look.Reading = readingForm{Place: c.Query("where"), Degrees: c.Query("degrees"), Unit: celsius, Humidity: c.Query("humidity"), At: at}
	}
	if look.Reading.Unit == "" {
		look.Reading.Unit = look.Words.scale
	}
	s.page(c, status, "drying", "What is wet", look)
	return nil
}

// lookDrying gives the part of the page that stays up to date.
func (s *Server) lookDrying(ctx context.Context, asked url.Values) (dryingPage, error) {
	wet, err := s.bench.Drying(ctx)
	if err != nil {
		return dryingPage{}, err
	}
	page := dryingPage{Drying: wet, Words: s.words(ctx), Place: asked.Get("place"), ByPlace: asked.Get("by") == "place", Asked: url.Values{}}
	page.Words.Now = wet.Now
	if page.Words.scale = asked.Get("scale"); page.Words.scale != celsius && page.Words.scale != fahrenheit {
		page.Words.scale = usualDegrees(page.Words.Settings)
	}
	page.Asked.Set("scale", page.Words.scale)
	for _, name := range []string{"place", "by"} {
		if v := asked.Get(name); v != "" {
			page.Asked.Set(name, v)
		}
	}
	page.Board = wet.In(page.Place)
	return page, nil
}

// dryingStream keeps the page up to date while it is seen.
func (s *Server) dryingStream(c *gin.Context) {
	asked := url.Values{}
	for _, name := range []string{"place", "by", "scale"} {
		if v := c.Query(name); v != "" {
			asked.Set(name, v)
		}
	}
	s.stream(c, room{page: "drying", job: asked.Encode()})
}

// plotJSON has the columns that the plot is drawn from; null is for nothing.
type plotJSON struct {
	Now      int64          `json:"now"` // seconds
	Times    []int64        `json:"times"`
	Celsius  []float64      `json:"celsius"`
	Humidity []float64      `json:"humidity"`
	Lines    []plotLineJSON `json:"lines"`
}

type plotLineJSON struct {
	Name    string     `json:"name"`
	Percent []*float64 `json:"percent"`
}

// dryingPlot gives the script of the page what to draw.
func (s *Server) dryingPlot(c *gin.Context) error {
	plot, err := s.bench.DryingPlot(c.Request.Context(), c.Query("place"))
	if err != nil {
		return err
	}
	out := plotJSON{Now: plot.Now.Unix(), Celsius: plot.Celsius, Humidity: plot.Humidity, Lines: []plotLineJSON{}}
	for _, t := range plot.Times {
		out.Times = append(out.Times, t.Unix())
	}
	for _, l := range plot.Lines {
		line := plotLineJSON{Name: l.Name}
		for i := range l.Percent {
			if l.Percent[i] < 0 {
				line.Percent = append(line.Percent, nil)
			} else {
				line.Percent = append(line.Percent, &l.Percent[i])
			}
		}
		out.Lines = append(out.Lines, line)
	}
	c.Header("Cache-Control", "no-store")
	return answer(c, http.StatusOK, out)
}
