package server

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
)

// stepsPage is the page of every list of steps.
type stepsPage struct {
	Lists []stepsList
	Kept  *parts.Routing // what was saved just now
}

// stepsList is a list of steps in its newest version, with who follows which.
type stepsList struct {
	parts.Routing
	Rows []stepRow
	Now  *stepsUse // who follows the newest version; nil for nobody
	Old  []oldSteps
}

// oldSteps is an older version that is still followed.
type oldSteps struct {
	stepsUse
	Rows []stepRow
}

func (s *Server) steps(c *gin.Context) error {
	ctx := c.Request.Context()
	all, err := s.bench.Routings(ctx)
	if err != nil {
		return err
	}
	stations, err := s.bench.Stations(ctx)
	if err != nil {
		return err
	}
	uses, err := s.stepsInUse(ctx)
	if err != nil {
		return err
	}
	at := map[parts.Station]string{}
	for _, st := range stations {
		at[st.Key] = st.Name
	}
	// By name: a list that was saved keeps its place on the page.
	slices.SortStableFunc(all, func(a, b parts.Routing) int { return strings.Compare(a.Name, b.Name) })
	l, st := s.tongue(ctx).Language, s.words(ctx).Style()
	var page stepsPage
	for _, r := range all {
		list := stepsList{Routing: r, Rows: stepRows(l, r.Steps, at, st)}
		for _, use := range uses[r.Key] {
			if use.Version == r.Version {
				list.Now = &use
				continue
			}
			list.Old = append(list.Old, oldSteps{stepsUse: use, Rows: stepRows(l, use.Steps, at, st)})
		}
		page.Lists = append(page.Lists, list)
		if r.Key == c.Query("kept") {
			page.Kept = &r
		}
	}
	s.page(c, http.StatusOK, "steps", "Steps", page)
	return nil
}

func (s *Server) editSteps(c *gin.Context) error {
	r, err := s.routingOf(c)
	if err != nil {
		return err
	}
	set, err := s.bench.Settings(c.Request.Context())
	if err != nil {
		return err
	}
	return s.showSteps(c, http.StatusOK, r, writeSteps(r.Steps, set.Style()), nil)
}

// routingOf gives the steps of the address; "new" starts a list.
func (s *Server) routingOf(c *gin.Context) (parts.Routing, error) {
	if c.Param("key") == "new" {
		r := parts.Routing{For: parts.Single}
		if c.Query("for") == string(parts.Assembly) {
			r.For = parts.Assembly
		}
		return r, nil
	}
	all, err := s.bench.Routings(c.Request.Context())
	if err != nil {
		return parts.Routing{}, err
	}
	i := slices.IndexFunc(all, func(r parts.Routing) bool { return r.Key == c.Param("key") })
	if i < 0 {
		return parts.Routing{}, parts.Problemf(parts.Missing, "steps-unknown", "There are no steps called %q.", c.Param("key")).Next("Choose from the list of steps.")
	}
	return all[i], nil
}

func (s *Server) saveSteps(c *gin.Context) error {
	r, err := s.routingOf(c)
	if err != nil {
		return err
	}
	form, err := sentForm(c)
	if err != nil {
		return err
	}
	if kind := parts.Kind(form.Get("for")); r.Key == "" && kind == parts.Assembly {
		r.For = kind
	}
	kept, err := s.keepSteps(c, r, form)
	switch p := parts.AsProblem(err); {
	case err == nil:
		c.Redirect(http.StatusSeeOther, "/steps?kept="+url.QueryEscape(kept.Key))
		return nil
	case p == nil || p.Code == "steps-torn":
		return err
	default:
		r.Name = form.Get("name")
		return s.showSteps(c, statuses[p.Sort], r, form, p)
	}
}

// keepSteps saves what the form says as the newest version of r.
func (s *Server) keepSteps(c *gin.Context, r parts.Routing, form url.Values) (parts.Routing, error) {
	set, err := s.bench.Settings(c.Request.Context())
	if err != nil {
		return r, err
	}
	r.Name = written(form.Get("name"))
	if r.Steps, err = readSteps(form, set.Unit); err != nil {
		return r, err
	}
	// Somebody else may have saved since the page was opened.
	if r.Key != "" && form.Get("version") != strconv.Itoa(r.Version) {
		return r, parts.Problemf(parts.Stale, "steps-stale", "Somebody saved version %d of these steps while you were writing.", r.Version).
			Next("Look at it in another window first. Keeping yours now puts them after it.")
	}
	return s.bench.SaveRouting(c.Request.Context(), r)
}

// sentForm reads the whole form, and says so when it is torn.
func sentForm(c *gin.Context) (url.Values, error) {
	err := c.Request.ParseForm()
	var tooBig *http.MaxBytesError
	if errors.As(err, &tooBig) {
		return nil, err
	}
	if err != nil {
		return nil, parts.Problemf(parts.Invalid, "steps-torn", "The form did not arrive whole.").Next("Go back and send it again.").Because(err)
	}
	return c.Request.PostForm, nil
}
