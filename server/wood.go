package server

import (
	"cmp"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/air"
)

// woodPage is what a wide part does between the shop and the client's room,
// and what it weighs.
type woodPage struct {
	form     url.Values
	Scale    string // of its temperatures: celsius or fahrenheit
	Shown    bool   // something was asked
	Species  []air.Species
	Of       air.Species
	From, To float64 // moisture of the wood here and in the client's air, in percent
	Air      float64 // what the shop's air brings it to
	Metered  bool    // From is what a meter says, put right for the temperature
	Settled  bool    // and that is near enough to the shop's air
	Width    parts.Length
	Moved    parts.Length // how much wider it gets; below zero, narrower
	Fit      *air.Outcome // of the gap; nil when none was given
	Kg       float64      // 0 when a size is missing
	Problem  *parts.Problem
	style    parts.Style
}

// Value is what a field says.
func (p woodPage) Value(name string) string { return p.form.Get(name) }

// Fine is the shop's way of writing lengths, finer than its rules: wood moves
// by less than they show.
func (p woodPage) Fine() parts.Style {
	st := p.style
	st.Denominator = 128
	return st
}

// Narrower is how much narrower it gets.
func (p woodPage) Narrower() parts.Length { return -p.Moved }

// Weight is what it weighs, "" when that is not known.
func (p woodPage) Weight() string {
	if p.Kg == 0 {
		return ""
	}
	return air.FormatWeight(p.Kg, p.style)
}

// Fit is what becomes of a gap, with lengths as the shop writes them.
func (w words) Fit(o air.Outcome, st parts.Style) string {
	say, args := o.Say(st)
	return w.Why(parts.Reason{Say: say, Args: args})
}

// Lift is what to say to who lifts it.
func (p woodPage) Lift() string { return air.LiftCaution(p.Kg) }

// wood works out the movement and the weight that the address asks for.
func (s *Server) wood(c *gin.Context) error {
	ctx := c.Request.Context()
	set, err := s.bench.Settings(ctx)
	if err != nil {
		return err
	}
	usual, err := s.bench.UsualAir(ctx)
	if err != nil {
		return err
	}
	page := woodPage{form: url.Values{}, Scale: s.words(ctx).Scale(), Species: air.AllSpecies(), style: set.Style()}
	if unit := c.Query("unit"); unit == celsius || unit == fahrenheit {
		page.Scale = unit // what was typed is in it
	}
	for name, text := range map[string]string{"species": "White oak", "cut": string(air.FlatSawn), "degrees": typedDegrees(usual.Celsius, page.Scale), "humidity": digits(usual.Humidity),
		"room-degrees": map[string]string{celsius: "21", fahrenheit: "70"}[page.Scale], "room-humidity": "35", "width": "", "length": "", "thick": "", "gap": "", "least": "", "most": "", "meter": ""} {
		page.form.Set(name, cmp.Or(written(c.Query(name)), text))
	}
	status := http.StatusOK
	if page.Shown = page.Value("width") != ""; page.Shown {
		if err := page.work(); parts.AsProblem(err) != nil {
			page.Problem = parts.AsProblem(err)
			status = statuses[page.Problem.Sort]
		} else if err != nil {
			return err
		}
	}
	s.page(c, status, "wood", "Wood", page)
	return nil
}

func digits(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }

// work fills in the answers.
func (p *woodPage) work() error {
	var found bool
	if p.Of, found = air.Match(p.Value("species")); !found {
		return parts.Problemf(parts.Invalid, "species-unknown", "How “%s” moves is not known here.", short(p.Value("species"))).
			Next("Choose a wood of the list. Sheet goods hardly move.")
	}
	var shop, room air.Air
	for name, to := range map[string]*float64{"degrees": &shop.Celsius, "humidity": &shop.Humidity, "room-degrees": &room.Celsius, "room-humidity": &room.Humidity} {
		var err error
		if *to, err = typedNumber(p.Value(name)); err != nil {
			return err
		}
	}
	for _, a := range []*air.Air{&shop, &room} {
		a.Celsius = inCelsius(a.Celsius, p.Scale)
		if err := a.Check(); err != nil {
			return err
		}
	}
	sizes := map[string]parts.Length{}
	for _, name := range []string{"length", "width", "thick", "gap", "least", "most"} {
		if p.Value(name) == "" || strings.Trim(p.Value(name), "0 ") == "" {
			continue
		}
		l, err := parts.ParseLength(p.Value(name), parts.Writing{Unit: p.style.Unit})
		if err != nil {
			return err
		}
		sizes[name] = l
	}
	p.Width = sizes["width"]
	var err error
	p.Air, p.To = shop.Moisture(), room.Moisture()
	if p.From, err = p.moisture(shop); err != nil {
		return err
	}
	if p.Moved, err = air.Movement(sizes["width"], p.Of.PerPoint(air.Cut(p.Value("cut"))), p.From, p.To); err != nil {
		return err
	}
	if sizes["gap"] > 0 {
		fit := air.Gap{Now: sizes["gap"], Least: sizes["least"], Most: sizes["most"]}.After(p.Moved)
		p.Fit = &fit
	}
	density, err := p.Of.Density(p.From)
	p.Kg = air.Weight(sizes["length"], sizes["width"], sizes["thick"], density)
	return err
}

// moisture is that of the wood here: what a meter says of it, or what the
// shop's air brings it to.
func (p *woodPage) moisture(shop air.Air) (float64, error) {
	if p.Metered = p.Value("meter") != ""; !p.Metered {
		return p.Air, nil
	}
	read, err := typedNumber(p.Value("meter"))
	if err != nil {
		return 0, err
	}
	wood, err := air.Corrected(read, shop.Celsius)
	p.Settled = err == nil && shop.Settled(wood)
	return wood, err
}

// typedNumber reads a number that a person typed, with a point or a comma.
func typedNumber(text string) (float64, error) {
	n, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", "."), 64)
	if err != nil {
		return 0, parts.Problemf(parts.Invalid, "number-unreadable", "“%s” is not a number.", short(text)).Next("Write it in digits, such as 20.")
	}
	return n, nil
}

// woodLink is the address of the page for a part of a line; "" when its wood
// is not known or it has no width.
func woodLink(l parts.Line, st parts.Style) string {
	of, known := air.Match(l.Material)
	if !known || l.Width.Length <= 0 {
		return ""
	}
	q := url.Values{"species": {of.Name}}
	for name, size := range map[string]parts.Length{"length": l.Length.Length, "width": l.Width.Length, "thick": l.Thick.Length} {
		if size > 0 {
			q.Set(name, size.Format(st))
		}
	}
	return "/wood?" + q.Encode()
}
