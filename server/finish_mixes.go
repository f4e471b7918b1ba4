package server

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/finish"
)

// mixesPage lists the mixes, with a form for a new one.
type mixesPage struct {
	Mixes   []finish.Mix
	New     mixEditor
	Problem *parts.Problem
}

// mixPage is one mix: its dosing list, its batches, its samples, its form.
type mixPage struct {
	finish.Mix
	Size     string // as it was typed
	Unused   bool   // no step gives the coat that it is for
	Measure  string
	Measures []finish.Measure
	Dosing   *finish.Dosing // nil when there is none; Undosed says why
	Undosed  *parts.Problem
	Gate     *parts.Problem // why it may not go on wood yet
	Batches  []finish.Batch // the newest first
	Samples  []finish.Sample
	Edit     mixEditor
	Kept     bool
	Same     bool // it was kept, and is as it was
	Problem  *parts.Problem
	Jar      finish.Volume // what is usually set aside
}

// Portion says how to measure one: "2 full and 15 marks".
func (w words) Portion(p finish.Portion) string {
	switch {
	case p.Full == 0 && p.Rest == 1:
		return w.say("1 mark")
	case p.Full == 0:
		return w.say("%d marks", p.Rest)
	case p.Rest == 0:
		return w.say("%d full", p.Full)
	case p.Rest == 1:
		return w.say("%d full and 1 mark", p.Full)
	}
	return w.say("%d full and %d marks", p.Full, p.Rest)
}

// Cautions are what can hurt.
func (p mixPage) Cautions() []string { return finish.Cautions(p.Mix) }

// WetFilm is how thick a coat lies when it is put on as far as it goes, as a
// gauge shows it; "" when the solids or the coverage are not known.
func (p mixPage) WetFilm() string {
	if p.Solids <= 0 || p.Coverage <= 0 {
		return ""
	}
	return film(p.wet())
}

// DryFilm is what is left of it.
func (p mixPage) DryFilm() string { return film(finish.DryFilm(p.wet(), p.Solids, p.Thinner.Percent)) }

// wet is a litre on the square metres that it covers.
func (p mixPage) wet() parts.Length {
	return parts.Length(1000 * float64(finish.One) / float64(p.Coverage) * float64(parts.Micrometre))
}

// film writes a thickness in micrometres and in thousandths of an inch.
func film(l parts.Length) string {
	um := float64(l) / float64(parts.Micrometre)
	return fmt.Sprintf("%.0f µm (%.1f mil)", um, um/25.4)
}

// Ratios are those that sample boards usually show, when it has two
// components.
func (p mixPage) Ratios() []string {
	if len(p.Components) != 2 {
		return nil
	}
	var out []string
	for _, r := range finish.UsualRatios() {
		out = append(out, r[0].String()+":"+r[1].String())
	}
	return out
}

func (s *Server) mixes(c *gin.Context) error { return s.showMixes(c, http.StatusOK, nil, nil) }

func (s *Server) showMixes(c *gin.Context, status int, sent url.Values, problem *parts.Problem) error {
	all, err := s.bench.Mixes(c.Request.Context())
	if err != nil {
		return err
	}
	set, err := s.bench.Settings(c.Request.Context())
	if err != nil {
		return err
	}
	page := mixesPage{Mixes: all, Problem: problem, New: mixEditor{unit: set.Unit, form: url.Values{"coat": {"stain"}, "method": {"wipe"}, "reserve": {"10"}}}}
	if sent != nil {
		page.New.form, page.New.Open = sent, true
	}
	s.page(c, status, "mixes", "Mixes", page)
	return nil
}

// saveMix keeps the form of a mix, or shows it again with why not.
func (s *Server) saveMix(c *gin.Context) error {
	form, err := sentForm(c)
	if err != nil {
		return err
	}
	set, err := s.bench.Settings(c.Request.Context())
	if err != nil {
		return err
	}
	var was finish.Mix
	if key := form.Get("key"); key != "" {
		if was, err = s.bench.Mix(c.Request.Context(), key); err != nil {
			return err
		}
	}
	m, err := readMix(form, was, set.Unit)
	if err == nil {
		m, err = s.bench.SaveMix(c.Request.Context(), m, func(now finish.Mix) bool { return printOfMix(now) == form.Get("was") })
	}
	switch p := parts.AsProblem(err); {
	case err == nil:
		said := "?kept=1"
		if printOfMix(m) == printOfMix(was) {
			said = "?kept=same"
		}
		c.Redirect(http.StatusSeeOther, "/finish/mixes/"+m.Key+said)
		return nil
	case p == nil:
		return err
	case was.Key == "":
		return s.showMixes(c, statuses[p.Sort], form, p)
	default:
		c.Params = gin.Params{{Key: "key", Value: was.Key}}
		return s.showMix(c, statuses[p.Sort], form, p)
	}
}

func (s *Server) mix(c *gin.Context) error { return s.showMix(c, http.StatusOK, nil, nil) }

// showMix shows one mix. sent is a form that could not be kept; nil for none.
func (s *Server) showMix(c *gin.Context, status int, sent url.Values, problem *parts.Problem) error {
	ctx := c.Request.Context()
	m, err := s.bench.Mix(ctx, c.Param("key"))
	if err != nil {
		return err
	}
	set, err := s.bench.Settings(ctx)
	if err != nil {
		return err
	}
	usual := "250 ml"
	if set.Unit != parts.Millimetres {
		usual = "8 fl oz"
	}
	page := mixPage{Mix: m, Size: cmp.Or(c.Query("size"), c.PostForm("size"), usual), Measure: cmp.Or(c.Query("measure"), c.PostForm("measure")),
		Gate: finish.ColourGate(m), Kept: c.Query("kept") == "1", Same: c.Query("kept") == "same", Problem: problem, Jar: finish.UsualJar,
		Edit: mixEditor{Key: m.Key, Was: printOfMix(m), unit: set.Unit, form: writeMix(m, set.Unit)}}
	if sent != nil {
		page.Edit.form, page.Edit.Open, page.Edit.Was = sent, true, cmp.Or(sent.Get("was"), page.Edit.Was)
		if problem != nil && problem.Code == "mix-stale" {
			page.Edit.Was = printOfMix(m) // keeping it now takes the place of the other
		}
	}
	if page.Measures, err = s.bench.Measures(ctx); err != nil {
		return err
	}
	if page.Dosing, page.Undosed, err = s.dosed(c, m.Key, page.Size, page.Measure); err != nil {
		return err
	}
	if page.Unused, err = s.bench.Unused(ctx, m); err != nil {
		return err
	}
	if page.Dosing != nil {
		page.Measure = page.Dosing.Measure.Key
	}
	if page.Batches, err = s.bench.Batches(ctx); err != nil {
		return err
	}
	page.Batches = slices.DeleteFunc(page.Batches, func(b finish.Batch) bool { return b.Mix != m.Key })
	if page.Samples, err = s.bench.Samples(ctx, m.Key); err != nil {
		return err
	}
	s.page(c, status, "mix", m.Name, page)
	return nil
}

// dosed gives the dosing list for a size as it was typed, or why there is none.
func (s *Server) dosed(c *gin.Context, key, size, measure string) (*finish.Dosing, *parts.Problem, error) {
	v, p := finish.ParseVolume(size)
	if p != nil {
		return nil, p, nil
	}
	ctx, dose := c.Request.Context(), s.bench.Dose
	if was, meant := exactly(c.Query("exact"), size, s.words(c).Style()); meant {
		v, dose = was, s.bench.DoseAgain
	}
	_, d, err := dose(ctx, key, v, measure)
	if p := parts.AsProblem(err); p != nil {
		return nil, p, nil
	}
	return &d, nil, err
}

// exactly gives the size that a list came to before, when what is typed is
// what was shown of it: rounded for reading, it would grow each time.
func exactly(exact, typed string, st parts.Style) (finish.Volume, bool) {
	n, err := strconv.ParseInt(exact, 10, 64)
	v := finish.Volume(n)
	return v, err == nil && v > 0 && v <= finish.MostVolume && v.Format(st) == strings.TrimSpace(typed)
}

// mixIt records that the batch of the list was mixed.
func (s *Server) mixIt(c *gin.Context) error {
	r := bench.BatchRequest{Mix: c.Param("key"), Measure: c.PostForm("measure"), Recipe: c.PostForm("recipe"), By: visitor(c).Name, Lots: map[string]string{}}
	var err error
	if r.ID, err = parts.ParseCommandID(c.PostForm("id")); err != nil {
		return err
	}
	var p *parts.Problem
	if r.Size, p = finish.ParseVolume(c.PostForm("size")); p == nil && strings.TrimSpace(c.PostForm("jar")) != "" {
		r.Jar, p = finish.ParseVolume(c.PostForm("jar"))
	}
	if p != nil {
		return s.showMix(c, statuses[p.Sort], nil, p)
	}
	// The list that was followed is the one that was shown, whatever was typed.
	if n, err := strconv.ParseInt(c.PostForm("exact"), 10, 64); err == nil && n > 0 && n <= int64(finish.MostVolume) {
		r.Size, r.Exact = finish.Volume(n), true
	}
	for name, values := range c.Request.PostForm {
		if of, found := strings.CutPrefix(name, "lot-"); found && written(values[0]) != "" {
			r.Lots[of] = written(values[0])
		}
	}
	b, err := s.bench.MixIt(c.Request.Context(), r)
	if p := parts.AsProblem(err); p != nil {
		return s.showMix(c, statuses[p.Sort], nil, p)
	}
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, fmt.Sprintf("/finish/batches/%d?mixed=1", b.Number))
	return nil
}

// addSamples records sample boards of a mix.
func (s *Server) addSamples(c *gin.Context) error {
	r := bench.SampleRequest{Mix: c.Param("key"), Wood: written(c.PostForm("wood")), Over: written(c.PostForm("over"))}
	r.Grit, _ = strconv.Atoi(c.PostForm("grit"))
	r.Coats, _ = strconv.Atoi(c.PostForm("coats"))
	var p *parts.Problem
	if r.Ratios, p = readRatios(c.PostForm("ratios")); p != nil {
		return s.showMix(c, statuses[p.Sort], nil, p)
	}
	var err error
	if r.Photo, err = s.sentPicture(c); err == nil {
		_, err = s.bench.AddSamples(c.Request.Context(), r)
	}
	return s.backToMix(c, r.Mix, err)
}

// readRatios reads ratios such as "2:1 3:1"; none for the mix as it is.
func readRatios(text string) ([][2]finish.Decimal, *parts.Problem) {
	var out [][2]finish.Decimal
	for _, one := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == ',' || r == ';' }) {
		base, colour, found := strings.Cut(one, ":")
		a, p := finish.ParseDecimal(base)
		b, q := finish.ParseDecimal(colour)
		if !found || p != nil || q != nil || len(out) >= mostRows {
			return nil, parts.Problemf(parts.Invalid, finish.CodeRatio, "“%s” is not a ratio.", short(one)).Next("Write ratios like 2:1 3:1 4:1.")
		}
		out = append(out, [2]finish.Decimal{a, b})
	}
	return out, nil
}

// approve records who chose a sample.
func (s *Server) approve(c *gin.Context) error {
	number, err := strconv.Atoi(c.Param("number"))
	if err != nil {
		return noSuchPage()
	}
	m, err := s.bench.Approve(c.Request.Context(), number, written(c.PostForm("by")))
	return s.backToMix(c, cmp.Or(m.Key, c.PostForm("mix")), err)
}

// backToMix goes on to the page of a mix, or shows there what went wrong.
func (s *Server) backToMix(c *gin.Context, key string, err error) error {
	if p := parts.AsProblem(err); p != nil && key != "" {
		c.Params = gin.Params{{Key: "key", Value: key}}
		return s.showMix(c, statuses[p.Sort], nil, p)
	}
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/finish/mixes/"+url.PathEscape(key)+"?kept=1#samples")
	return nil
}
