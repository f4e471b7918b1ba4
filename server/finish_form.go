package server

import (
	"encoding/json"
	"fmt"
	"hash/fnv"
	"net/url"
	"strconv"
	"strings"

	"benchtally/parts"
	"benchtally/parts/finish"
)

// The form of a mix has rows for its components and its additives: the field
// component-2-parts is the share of the second component. A row without a name
// is left out.

// mostRows bounds the rows of each kind; a mix with more is refused.
const mostRows = 12

// mixEditor is the form of one mix as it was typed.
type mixEditor struct {
	Key  string // "" for a new one
	Was  string // print of what was there when the form was drawn
	Open bool
	form url.Values
	unit parts.Unit
}

// Value is what a field says.
func (e mixEditor) Value(name string) string { return e.form.Get(name) }

// Ticked reports whether a box is ticked.
func (e mixEditor) Ticked(name string) bool { return e.form.Get(name) == "1" }

// Rows names the rows of a kind: those that say something, and one or two
// more.
func (e mixEditor) Rows(kind string, least int) []string {
	rows := least
	for i := 1; i <= mostRows; i++ {
		if e.form.Get(fmt.Sprintf("%s-%d-name", kind, i)) != "" {
			rows = max(rows, i+1)
		}
	}
	var out []string
	for i := 1; i <= min(rows, mostRows); i++ {
		out = append(out, fmt.Sprintf("%s-%d-", kind, i))
	}
	return out
}

// Rate is the unit in which coverage is written.
func (e mixEditor) Rate() string { return rateUnit(e.unit) }

// Methods lists how a coat may be put on.
func (mixEditor) Methods() []finish.Method { return finish.Methods }

func rateUnit(unit parts.Unit) string {
	if unit == parts.Millimetres {
		return "m² to the litre"
	}
	return "ft² to the gallon"
}

// writeMix fills the form with a mix.
func writeMix(m finish.Mix, unit parts.Unit) url.Values {
	form := url.Values{}
	set := func(name, value string) { form.Set(name, value) }
	number := func(name string, d finish.Decimal) {
		if d != 0 {
			set(name, d.String())
		}
	}
	tick := func(name string, on bool) {
		if on {
			set(name, "1")
		}
	}
	for i, c := range m.Components {
		row := fmt.Sprintf("component-%d-", i+1)
		set(row+"name", c.Name)
		number(row+"parts", c.Parts)
		number(row+"density", c.Density)
		tick(row+"colour", c.Colour)
		tick(row+"lot", c.NeedsLot)
	}
	additive := func(row string, a finish.Additive) {
		set(row+"name", a.Name)
		number(row+"percent", a.Percent)
		set(row+"of", string(a.Of))
		number(row+"most", a.Most)
		number(row+"density", a.Density)
		tick(row+"colour", a.Colour)
	}
	for i, a := range m.Additives {
		additive(fmt.Sprintf("additive-%d-", i+1), a)
	}
	additive("thinner-", m.Thinner)
	for name, text := range map[string]string{"name": m.Name, "coat": m.Coat, "method": string(m.Method)} {
		set(name, text)
	}
	number("coverage", shownRate(m.Coverage, unit))
	number("loss", m.Loss)
	number("solids", m.Solids)
	set("reserve", m.Reserve.String())
	set("pot-life", potLifeText(m.PotLife))
	if m.PerHour != 0 {
		set("per-hour", m.PerHour.Format(parts.Style{Unit: unit}))
	}
	tick("solvent", m.Solvent)
	tick("oily", m.Oily)
	return form
}

// shownRate is a coverage in the shop's unit.
func shownRate(rate finish.Decimal, unit parts.Unit) finish.Decimal {
	if unit == parts.Millimetres {
		return rate
	}
	return finish.ToFeet(rate).Round(1)
}

// mixReader reads the fields of a form. It keeps the first thing that is wrong.
type mixReader struct {
	form    url.Values
	problem *parts.Problem
}

func (r *mixReader) text(name string) string { return written(r.form.Get(name)) }

func (r *mixReader) ticked(name string) bool { return r.form.Get(name) == "1" }

// number reads a number; none is zero.
func (r *mixReader) number(name, what string) finish.Decimal {
	text := strings.TrimSpace(r.form.Get(name))
	if text == "" {
		return 0
	}
	d, p := finish.ParseDecimal(strings.TrimSpace(strings.TrimSuffix(text, "%")))
	if p != nil && r.problem == nil {
		r.problem = &parts.Problem{Sort: p.Sort, Code: p.Code, Say: "%s: " + p.Say, Args: append(parts.Args{what}, p.Args...), Do: p.Do, DoArgs: p.DoArgs}
	}
	return d
}

func (r *mixReader) additive(row string) finish.Additive {
	name := r.text(row + "name")
	return finish.Additive{Name: name, Percent: r.number(row+"percent", name), Of: finish.Share(r.form.Get(row + "of")),
		Most: r.number(row+"most", name), Density: r.number(row+"density", name), Colour: r.ticked(row + "colour")}
}

// readMix gives the mix that a form has; was is the one that it changes.
func readMix(form url.Values, was finish.Mix, unit parts.Unit) (finish.Mix, error) {
	r := mixReader{form: form}
	m := finish.Mix{Key: form.Get("key"), Name: r.text("name"), Coat: r.text("coat"), Method: finish.Method(form.Get("method")),
		Loss: r.number("loss", "Loss"), Solids: r.number("solids", "Solids"), Reserve: r.number("reserve", "Reserve"),
		Solvent: r.ticked("solvent"), Oily: r.ticked("oily")}
	for i := 1; i <= mostRows; i++ {
		row := fmt.Sprintf("component-%d-", i)
		if name := r.text(row + "name"); name != "" {
			m.Components = append(m.Components, finish.Component{Name: name, Parts: r.number(row+"parts", name), Density: r.number(row+"density", name),
				Colour: r.ticked(row + "colour"), NeedsLot: r.ticked(row + "lot")})
		}
		if row = fmt.Sprintf("additive-%d-", i); r.text(row+"name") != "" {
			m.Additives = append(m.Additives, r.additive(row))
		}
	}
	if r.text("thinner-name") != "" {
		m.Thinner = r.additive("thinner-")
	}
	if text := r.text("pot-life"); text != "" {
		minutes, read := readPotLife(text)
		if !read {
			return m, parts.Problemf(parts.Invalid, finish.CodePotLife, "The pot life “%s” cannot be read.", short(text)).Next("Write it like 8 h or 90 min.")
		}
		m.PotLife = minutes
	}
	if text := r.text("per-hour"); text != "" {
		var p *parts.Problem
		if m.PerHour, p = finish.ParseVolume(text); p != nil {
			return m, p
		}
		if text == was.PerHour.Format(parts.Style{Unit: unit}) {
			m.PerHour = was.PerHour // as it was, and not rounded once more
		}
	}
	m.Coverage = r.number("coverage", "Coverage")
	switch {
	case m.Coverage == shownRate(was.Coverage, unit):
		m.Coverage = was.Coverage // as it was, and not rounded once more
	case unit != parts.Millimetres:
		m.Coverage = finish.FromFeet(m.Coverage)
	}
	if r.form.Get("loss") == "" {
		m.Loss = finish.UsualLoss(m.Method)
	}
	if r.problem != nil {
		return m, r.problem
	}
	return m, nil
}

// readPotLife reads a pot life the way dry times are written, "8 h" or
// "90 min". A number alone is not read: hours taken for minutes are a nuisance,
// and minutes taken for hours a coat that never hardens.
func readPotLife(text string) (minutes int, ok bool) {
	if n, err := strconv.Atoi(text); err == nil {
		return n, n <= 0
	}
	return readMinutes(text)
}

// potLifeText writes a pot life so that readPotLife reads it again.
func potLifeText(minutes int) string {
	switch {
	case minutes == 0:
		return ""
	case minutes%60 == 0:
		return strconv.Itoa(minutes/60) + " h"
	}
	return strconv.Itoa(minutes) + " min"
}

// printOfMix tells whether a mix is what a form was drawn from.
func printOfMix(m finish.Mix) string {
	data, err := json.Marshal(m)
	if err != nil {
		return ""
	}
	h := fnv.New64a()
	h.Write(data)
	return fmt.Sprintf("%016x", h.Sum64())
}
