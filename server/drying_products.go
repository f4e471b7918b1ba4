package server

import (
	"cmp"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/drying"
)

// productsPage is every glue and finish, with the forms that change and add
// them.
type productsPage struct {
	Products []productForm
	New      []productForm // of a glue and of a finish
	Problem  *parts.Problem
	Kept     string
}

// productForm is a product as its form has it: what was typed, or what is kept.
type productForm struct {
	drying.Product
	Version int
	Scale   string // of its temperatures: celsius or fahrenheit
	form    url.Values
	Open    bool
	Model   string
	times   []needField
}

// needField is the field of one time of the data sheet.
type needField struct {
	Name, Say, Means string
}

// timesOf are the fields of the times that a kind of product has.
func timesOf(k drying.Kind) []needField {
	names := map[drying.Need]string{drying.ClampsOff: "clamps_off", drying.Machine: "machine", drying.Turn: "turn", drying.Recoat: "recoat",
		drying.Sand: "sand", drying.Stack: "stack", drying.Wrap: "wrap", drying.Cure: "cure"}
	var out []needField
	for _, n := range k.Needs() {
		if k == drying.Stain && n == drying.Sand {
			continue // stain is never sanded
		}
		out = append(out, needField{names[n], string(n), k.Means(n)})
	}
	return out
}

// Times are the fields of its times.
func (f productForm) Times() []needField { return f.times }

// Value is what a field says.
func (f productForm) Value(name string) string { return f.form.Get(name) }

// Glue reports whether it is a glue.
func (f productForm) Glue() bool { return f.Kind == drying.Glue }

// Coats are the kinds that are put on as a coat.
func (productForm) Coats() []drying.Kind { return drying.Kinds[1:] }

func (s *Server) products(c *gin.Context) error {
	return s.showProducts(c, http.StatusOK, nil, nil)
}

// showProducts shows the page; sent is a form that could not be kept.
func (s *Server) showProducts(c *gin.Context, status int, sent url.Values, p *parts.Problem) error {
	all, err := s.bench.Products(c.Request.Context())
	if err != nil {
		return err
	}
	page := productsPage{Problem: p}
	words := s.words(c.Request.Context())
	for _, one := range all {
		f := writeProduct(one, words.Scale(), sent)
		model, args := one.Model()
		f.Model = words.Why(parts.Reason{Say: model, Args: args})
		page.Products = append(page.Products, f)
		if one.Key == c.Query("kept") {
			page.Kept = one.Name
		}
	}
	for _, kind := range []drying.Kind{drying.Glue, drying.Clear} {
		page.New = append(page.New, writeProduct(bench.Product{Product: drying.Product{Kind: kind, Celsius: 20, Humidity: 50, Lowest: 10}}, words.Scale(), sent))
	}
	s.page(c, status, "drying_products", "Glues and finishes", page)
	return nil
}

// writeProduct fills the form of a product: readProduct reads the same again.
func writeProduct(p bench.Product, scale string, sent url.Values) productForm {
	f := productForm{Product: p.Product, Version: p.Version, Scale: scale, form: url.Values{}, times: timesOf(p.Kind)}
	if sent != nil && sent.Get("key") == p.Key && (p.Key != "" || (sent.Get("kind") == string(drying.Glue)) == (p.Kind == drying.Glue)) {
		f.form, f.Open, f.Scale = sent, true, cmp.Or(sent.Get("unit"), celsius)
		return f
	}
	set := func(name, value string) { f.form.Set(name, value) }
	set("name", p.Name)
	set("kind", string(p.Kind))
	set("degrees", typedDegrees(p.Celsius, scale))
	set("lowest", typedDegrees(p.Lowest, scale))
	for name, v := range map[string]float64{"humidity": p.Humidity, "per10": p.Per10} {
		if v != 0 {
			set(name, digits(v))
		}
	}
	for name, m := range map[string]int{"clamps_off": p.ClampsOff, "machine": p.Machine, "turn": p.Turn, "recoat": p.Recoat, "latest": p.Latest,
		"sand": p.Sand, "stack": p.Stack, "wrap": p.Wrap, "cure": p.Cure} {
		set(name, minutesText(m))
	}
	set("missed", p.Missed)
	set("source", p.Source)
	if p.Evaporates {
		set("dries", "evaporates")
	}
	if p.Faster {
		set("faster", "1")
	}
	return f
}

// readProduct reads the form of a product.
func readProduct(form url.Values) (bench.Product, error) {
	version, _ := strconv.Atoi(form.Get("version"))
	p := bench.Product{Version: version, Product: drying.Product{Key: form.Get("key"), Name: written(form.Get("name")), Kind: drying.Kind(form.Get("kind")),
		Evaporates: form.Get("dries") == "evaporates", Faster: form.Get("faster") != "", Missed: written(form.Get("missed")), Source: written(form.Get("source"))}}
	for name, to := range map[string]*float64{"degrees": &p.Celsius, "humidity": &p.Humidity, "lowest": &p.Lowest, "per10": &p.Per10} {
		text := strings.TrimSpace(form.Get(name))
		n, ok := signedAmount(text)
		if !ok && (text != "" || name != "per10") {
			return p, parts.Problemf(parts.Invalid, "product-number", "“%s” is no number.", short(text)).Next("Temperatures and humidity are written in digits, such as 20.")
		}
		*to = n
	}
	p.Celsius, p.Lowest = inCelsius(p.Celsius, form.Get("unit")), inCelsius(p.Lowest, form.Get("unit"))
	if p.Evaporates {
		p.Per10 = 0
	}
	for name, to := range map[string]*int{"clamps_off": &p.ClampsOff, "machine": &p.Machine, "turn": &p.Turn, "recoat": &p.Recoat, "latest": &p.Latest,
		"sand": &p.Sand, "stack": &p.Stack, "wrap": &p.Wrap, "cure": &p.Cure} {
		text := strings.TrimSpace(form.Get(name))
		m, ok := readMinutes(text)
		if text != "" && !ok {
			return p, parts.Problemf(parts.Invalid, "product-time", "The time “%s” cannot be read.", short(text)).Next("Write hours, such as 24 or 0.5, or a time with its unit, such as 50 min or 3 days.")
		}
		*to = m
	}
	return p, nil
}

func (s *Server) saveProduct(c *gin.Context) error {
	if err := c.Request.ParseForm(); err != nil {
		return parts.Problemf(parts.Invalid, "form-torn", "The form did not arrive whole.").Next("Go back and send it again.")
	}
	p, err := readProduct(c.Request.PostForm)
	if err == nil {
		p, err = s.bench.SaveProduct(c.Request.Context(), p)
	}
	if problem := parts.AsProblem(err); problem != nil {
		return s.showProducts(c, statuses[problem.Sort], c.Request.PostForm, problem)
	}
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/drying/products?kept="+p.Key+"#"+p.Key)
	return nil
}
