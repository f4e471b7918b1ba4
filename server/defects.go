package server

import (
	"net/http"
	"net/url"
	"reflect"
	"slices"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
)

// defectsPage is the shop's catalogue of defects, with an editor for each.
type defectsPage struct {
	Defects  []defectRow
	New      defectEditor
	Stations []parts.StationRow
	Kept     string // what was saved just now
	Problem  *parts.Problem
}

// defectRow is a defect as it is kept, and its editor.
type defectRow struct {
	parts.Defect
	Words string // its repair in one line
	Edit  defectEditor
}

// Clocks lists the kinds of wait.
func (defectsPage) Clocks() []parts.Clock { return parts.Clocks }

// Agains lists what may be done again after the repair, as people say it.
func (defectsPage) Agains() [][2]string {
	return [][2]string{
		{string(parts.NothingAgain), "nothing more"},
		{string(parts.BoreAgain), "the hole is bored again"},
		{string(parts.CoatsAgain), "the coats you name when you record it"},
		{string(parts.LastAgain), "the last step again"},
	}
}

// defects shows the catalogue.
func (s *Server) defects(c *gin.Context) error {
	return s.showDefects(c, http.StatusOK, nil, nil)
}

// saveDefect keeps one form of the page, or shows it again with why not.
func (s *Server) saveDefect(c *gin.Context) error {
	form, err := sentForm(c)
	if err != nil {
		return err
	}
	kept, err := s.keepDefect(c, form)
	switch p := parts.AsProblem(err); {
	case err == nil:
		c.Redirect(http.StatusSeeOther, "/defects?kept="+url.QueryEscape(kept.Key))
		return nil
	case p == nil || p.Code == "steps-torn" || p.Code == "steps-many":
		return err // there is no form to show again
	default:
		return s.showDefects(c, statuses[p.Sort], form, p)
	}
}

// keepDefect saves what the form says.
func (s *Server) keepDefect(c *gin.Context, form url.Values) (parts.Defect, error) {
	d, err := readDefect(form)
	if err != nil {
		return d, err
	}
	all, err := s.bench.Defects(c.Request.Context())
	if err != nil {
		return d, err
	}
	if d.Key != "" {
		i := slices.IndexFunc(all, func(o parts.Defect) bool { return o.Key == d.Key })
		if i < 0 {
			return d, parts.Problemf(parts.Missing, "defect-unknown", "The shop knows no defect %q.", d.Key).Next("Choose from the list, or add it.")
		}
		// Somebody else may have saved since the page was opened; who sends the
		// same once more did not.
		if form.Get("was") != printOf(all[i]) && !reflect.DeepEqual(all[i], d) {
			return d, parts.Problemf(parts.Stale, "defect-stale", "Somebody changed %s while you were writing.", all[i].Name).
				Next("Its line below says how it is now. Keeping yours takes its place.")
		}
	}
	return s.bench.SaveDefect(c.Request.Context(), d)
}

// showDefects shows the page. sent is a form that could not be kept, and goes
// back to its place with everything that was typed; nil for none.
func (s *Server) showDefects(c *gin.Context, status int, sent url.Values, problem *parts.Problem) error {
	ctx := c.Request.Context()
	all, err := s.bench.Defects(ctx)
	if err != nil {
		return err
	}
	stations, err := s.bench.Stations(ctx)
	if err != nil {
		return err
	}
	l := s.tongue(ctx).Language
	page := defectsPage{Stations: stations, Problem: problem}
	for _, d := range all {
		row := defectRow{Defect: d, Words: defectWords(l, d)}
		if row.Edit, err = editorOf(l, d, stations, sent, problem); err != nil {
			return err
		}
		if d.Key == c.Query("kept") {
			page.Kept = d.Name
		}
		page.Defects = append(page.Defects, row)
	}
	if page.New, err = editorOf(l, parts.Defect{}, stations, sent, problem); err != nil {
		return err
	}
	s.page(c, status, "defects", "Defects", page)
	return nil
}
