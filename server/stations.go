package server

import (
	"net/http"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
)

// stationsPage is every station, with the forms that change and add them.
type stationsPage struct {
	Stations []stationForm
	New      stationForm
	Problem  *parts.Problem
}

// stationForm is a station as the form has it.
type stationForm struct {
	parts.StationRow
	After  parts.Station // the one before it in the order of the floor; "" for none
	Others []parts.StationRow
	Open   bool
}

func (s *Server) stations(c *gin.Context) error {
	all, err := s.bench.Stations(c.Request.Context())
	if err != nil {
		return err
	}
	s.page(c, http.StatusOK, "stations", "Stations", stationForms(all))
	return nil
}

// stationForms fills a form for each station and one for a new one, which
// comes last in the order unless a person says otherwise.
func stationForms(all []parts.StationRow) stationsPage {
	page := stationsPage{New: stationForm{Others: all}}
	for _, st := range all {
		page.Stations = append(page.Stations, stationForm{StationRow: st, After: page.New.After, Others: without(all, st.Key)})
		page.New.After = st.Key
	}
	return page
}

func without(all []parts.StationRow, key parts.Station) []parts.StationRow {
	return slices.DeleteFunc(slices.Clone(all), func(st parts.StationRow) bool { return st.Key == key })
}

func (s *Server) saveStation(c *gin.Context) error {
	all, err := s.bench.Stations(c.Request.Context())
	if err != nil {
		return err
	}
	sent := stationForm{After: parts.Station(c.PostForm("after")), Open: true, StationRow: parts.StationRow{
		Key: parts.Station(strings.TrimSpace(c.PostForm("key"))), Name: written(c.PostForm("name")), Caution: strings.TrimSpace(c.PostForm("caution")),
	}}
	change := c.PostForm("change") != ""
	err = s.keepStation(c, all, sent, change)
	if p := parts.AsProblem(err); p != nil {
		s.page(c, statuses[p.Sort], "stations", "Stations", withSent(stationForms(all), sent, change, p))
		return nil
	}
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/stations")
	return nil
}

// withSent puts what was typed back in its form.
func withSent(page stationsPage, sent stationForm, change bool, p *parts.Problem) stationsPage {
	page.Problem = p
	form := &page.New
	for i := range page.Stations {
		if change && page.Stations[i].Key == sent.Key {
			form = &page.Stations[i]
		}
	}
	sent.Others = form.Others
	*form = sent
	return page
}

// keepStation saves one station, and those that make room for it.
func (s *Server) keepStation(c *gin.Context, all []parts.StationRow, sent stationForm, change bool) error {
	there := slices.ContainsFunc(all, func(st parts.StationRow) bool { return st.Key == sent.Key })
	switch {
	case there && !change:
		return parts.Problemf(parts.Refused, "station-there", "There is a station %q already.", string(sent.Key)).Next("Change that one below its name, or choose another short name.")
	case change && !there:
		return parts.Problemf(parts.Missing, "station-unknown", "The shop has no station %q.", string(sent.Key)).Next("Choose from the list, or add it.")
	}
	moved, err := placed(all, sent.StationRow, sent.After)
	if err != nil {
		return err
	}
	for _, st := range moved {
		if err := s.bench.SaveStation(c.Request.Context(), st); err != nil {
			return err
		}
	}
	return nil
}

// placed puts a station behind another one, "" for the first place, and gives
// it and every other one whose place changes.
func placed(all []parts.StationRow, st parts.StationRow, after parts.Station) ([]parts.StationRow, error) {
	order := without(all, st.Key)
	at := 0
	if after != "" {
		at = 1 + slices.IndexFunc(order, func(o parts.StationRow) bool { return o.Key == after })
		if at == 0 {
			return nil, parts.Problemf(parts.Invalid, "station-place", "The shop has no other station %q to come after.", string(after)).Next("Choose the place from the list.")
		}
	}
	st.Place = at + 1
	moved := []parts.StationRow{st}
	for i, o := range slices.Insert(order, at, st) {
		if o.Key != st.Key && o.Place != i+1 {
			o.Place = i + 1
			moved = append(moved, o)
		}
	}
	return moved, nil
}
