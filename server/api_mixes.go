package server

import (
	"cmp"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/finish"
)

// mixWritten is a mix as a program writes it. Numbers that are kept exactly
// are texts, such as "2.5".
type mixWritten struct {
	Key        string             `json:"key"` // of the one that it changes; left out for a new one
	Name       string             `json:"name"`
	Coat       string             `json:"coat"`
	Components []finish.Component `json:"components"`
	Additives  []finish.Additive  `json:"additives"`
	Thinner    *finish.Additive   `json:"thinner"`
	PotLife    int                `json:"pot_life_minutes"`
	Method     finish.Method      `json:"method"`
	Loss       finish.Decimal     `json:"loss_percent"`
	Coverage   finish.Decimal     `json:"coverage"`
	Solids     finish.Decimal     `json:"solids_percent"`
	Reserve    finish.Decimal     `json:"reserve_percent"`
	PerHour    float64            `json:"per_hour_ml"`
	Solvent    bool               `json:"solvent"`
	Oily       bool               `json:"oily"`
}

func (b mixWritten) mix() finish.Mix {
	m := finish.Mix{Key: b.Key, Name: b.Name, Coat: b.Coat, Components: b.Components, Additives: b.Additives, PotLife: b.PotLife,
		Method: b.Method, Loss: b.Loss, Coverage: b.Coverage, Solids: b.Solids, Reserve: b.Reserve, Solvent: b.Solvent, Oily: b.Oily}
	if b.Thinner != nil {
		m.Thinner = *b.Thinner
		m.Thinner.Of = cmp.Or(m.Thinner.Of, finish.OfWhole)
	}
	return m
}

// mixJSON is a mix with what follows from it.
type mixJSON struct {
	finish.Mix
	PerHour float64 `json:"per_hour_ml,omitempty"`
	Recipe  string  `json:"recipe"`
	Usable  bool    `json:"usable"` // its colour is approved, or it gives none
}

func mixOf(m finish.Mix) mixJSON {
	out := mixJSON{Mix: m, PerHour: millilitres(m.PerHour), Recipe: m.Recipe(), Usable: finish.ColourGate(m) == nil}
	out.Mix.PerHour = 0 // told in millilitres instead
	return out
}

func (s *Server) apiMixes(c *gin.Context) error {
	all, err := s.bench.Mixes(c.Request.Context())
	if err != nil {
		return err
	}
	out := make([]mixJSON, 0, len(all))
	for _, m := range all {
		out = append(out, mixOf(m))
	}
	return answer(c, http.StatusOK, out)
}

// apiSaveMix adds a mix or changes one. It has no id: the same again changes
// nothing.
func (s *Server) apiSaveMix(c *gin.Context) error {
	var b mixWritten
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	m := b.mix()
	var err error
	if m.PerHour, err = volumeOf(b.PerHour, "per_hour_ml"); err != nil {
		return err
	}
	if m, err = s.bench.SaveMix(c.Request.Context(), m, nil); err != nil {
		return err
	}
	c.Header("Location", "/api/v1/mixes/"+m.Key+"/dosing")
	return answer(c, http.StatusCreated, mixOf(m))
}

// dosingJSON is a dosing list. Errors are in percent of what should be.
type dosingJSON struct {
	Mix      string        `json:"mix"`
	Recipe   string        `json:"recipe"`
	Measure  string        `json:"measure"`
	Portions []portionJSON `json:"portions"`
	ML       float64       `json:"ml"`
	RatioOff float64       `json:"ratio_off_percent"`
	// ColourOff is left out for a mix that gives no colour.
	ColourOff *float64 `json:"colour_off_percent,omitempty"`
	AddedOff  float64  `json:"added_off_percent"`
}

// portionJSON is a line of a dosing list.
type portionJSON struct {
	Name  string      `json:"name"`
	Role  finish.Role `json:"role"`
	Marks int         `json:"marks"`
	Say   string      `json:"say"` // how to measure it
	ML    float64     `json:"ml"`
}

func millilitres(v finish.Volume) float64 { return float64(v) / float64(finish.Millilitre) }

func decimal(d finish.Decimal) float64 { return float64(d) / float64(finish.One) }

// volumeOf reads millilitres as a program sends them.
func volumeOf(ml float64, field string) (finish.Volume, error) {
	most := millilitres(finish.MostVolume)
	if math.IsNaN(ml) || ml < 0 || ml > most {
		return 0, parts.Problemf(parts.Invalid, "field-wrong", "The field %q is no volume in millilitres.", field).
			Next("Send a number from 0 to %d.", int(most)).Fact("field", field)
	}
	return finish.Volume(math.Round(ml * float64(finish.Millilitre))), nil
}

// apiDosing gives the dosing list for a size.
func (s *Server) apiDosing(c *gin.Context) error {
	const example = "Send it in the address: /api/v1/mixes/KEY/dosing?ml=250."
	if c.Query("ml") == "" {
		return fieldMissing("ml", example)
	}
	ml, err := strconv.ParseFloat(c.Query("ml"), 64)
	if err != nil {
		return parts.Problemf(parts.Invalid, "field-wrong", "The field %q is not a number.", "ml").Next(example).Fact("field", "ml")
	}
	size, err := volumeOf(ml, "ml")
	if err != nil {
		return err
	}
	m, d, err := s.bench.Dose(c.Request.Context(), c.Param("key"), size, c.Query("measure"))
	if err != nil {
		return err
	}
	out := dosingJSON{Mix: m.Key, Recipe: m.Recipe(), Measure: d.Measure.Key, ML: millilitres(d.Volume), RatioOff: decimal(d.RatioOff), AddedOff: decimal(d.AddedOff)}
	if m.Colours() {
		off := decimal(d.ColourOff)
		out.ColourOff = &off
	}
	for _, p := range d.Portions {
		out.Portions = append(out.Portions, portionJSON{Name: p.Name, Role: p.Role, Marks: p.Marks, Say: p.Text(), ML: millilitres(p.Volume)})
	}
	return answer(c, http.StatusOK, out)
}

// batchMixed says that a batch was mixed by the dosing list of a size.
type batchMixed struct {
	ID      string            `json:"id"`
	Mix     string            `json:"mix"`
	ML      float64           `json:"ml"`
	Measure string            `json:"measure"`
	JarML   float64           `json:"jar_ml"`
	Lots    map[string]string `json:"lots"`
	At      time.Time         `json:"at"`
	By      string            `json:"by"`
}

// batchJSON is a batch. What is left is an estimate.
type batchJSON struct {
	Number  int64     `json:"number"`
	Mix     string    `json:"mix"`
	Name    string    `json:"name"`
	Recipe  string    `json:"recipe"`
	MixedAt time.Time `json:"mixed_at"`
	Until   time.Time `json:"until,omitzero"` // when it sets in its pot
	ML      float64   `json:"ml"`
	LeftML  float64   `json:"left_ml"`
	JarML   float64   `json:"jar_ml,omitempty"`
	Open    bool      `json:"open"`
}

func batchOf(b finish.Batch) batchJSON {
	return batchJSON{Number: b.Number, Mix: b.Mix, Name: b.Name, Recipe: b.Recipe, MixedAt: b.MixedAt, Until: b.Until(),
		ML: millilitres(b.Volume), LeftML: millilitres(max(b.Left, 0)), JarML: millilitres(b.Jar), Open: b.Open}
}

func (s *Server) apiBatches(c *gin.Context) error {
	all, err := s.bench.Batches(c.Request.Context())
	if err != nil {
		return err
	}
	out := make([]batchJSON, 0, len(all))
	for _, b := range all {
		out = append(out, batchOf(b))
	}
	return answer(c, http.StatusOK, out)
}

func (s *Server) apiMixIt(c *gin.Context) error {
	var b batchMixed
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	id, err := commandID(b.ID)
	if err != nil {
		return err
	}
	r := bench.BatchRequest{ID: id, Mix: b.Mix, Measure: b.Measure, Lots: b.Lots, At: b.At, By: b.By}
	if b.Mix == "" {
		return fieldMissing("mix", "Send the key of the mix.")
	}
	if r.Size, err = volumeOf(b.ML, "ml"); err != nil {
		return err
	}
	if r.Jar, err = volumeOf(b.JarML, "jar_ml"); err != nil {
		return err
	}
	batch, err := s.bench.MixIt(c.Request.Context(), r)
	if err != nil {
		return err
	}
	c.Header("Location", "/api/v1/batches")
	return answer(c, http.StatusCreated, batchOf(batch))
}

// sampleJSON is a sample board.
type sampleJSON struct {
	Number   int              `json:"number"`
	Mix      string           `json:"mix"`
	Recipe   string           `json:"recipe"`
	Wood     string           `json:"wood"`
	Grit     int              `json:"grit"`
	Coats    int              `json:"coats"`
	Over     string           `json:"over,omitempty"`
	Photo    string           `json:"photo,omitempty"`
	Approved *finish.Approval `json:"approved,omitempty"`
}

// boardsMade records sample boards of a mix, a board for each ratio.
type boardsMade struct {
	Mix    string   `json:"mix"`
	Ratios []string `json:"ratios"` // such as "3:1"; none for the mix as it is
	Wood   string   `json:"wood"`
	Grit   int      `json:"grit"`
	Coats  int      `json:"coats"`
	Over   string   `json:"over"`
	Photo  string   `json:"photo"`
}

// approvedBy records who chose a sample board.
type approvedBy struct {
	Sample int    `json:"sample"`
	By     string `json:"by"`
}

func (s *Server) sampleList(c *gin.Context, status int, mix string, all []finish.Sample) error {
	out := make([]sampleJSON, 0, len(all))
	for _, a := range all {
		out = append(out, sampleJSON{Number: a.Number, Mix: mix, Recipe: a.Mix.Recipe(), Wood: a.Wood, Grit: a.Grit, Coats: a.Coats,
			Over: a.Over, Photo: a.Photo, Approved: a.Approved})
	}
	return answer(c, status, out)
}

func (s *Server) apiSamples(c *gin.Context) error {
	m, err := s.bench.Mix(c.Request.Context(), c.Param("key"))
	if err != nil {
		return err
	}
	all, err := s.bench.Samples(c.Request.Context(), m.Key)
	if err != nil {
		return err
	}
	return s.sampleList(c, http.StatusOK, m.Key, all)
}

func (s *Server) apiAddSamples(c *gin.Context) error {
	var b boardsMade
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r := bench.SampleRequest{Mix: b.Mix, Wood: b.Wood, Grit: b.Grit, Coats: b.Coats, Over: b.Over, Photo: b.Photo}
	for _, text := range b.Ratios {
		ratios, p := readRatios(text)
		if p != nil {
			return p
		}
		r.Ratios = append(r.Ratios, ratios...)
	}
	made, err := s.bench.AddSamples(c.Request.Context(), r)
	if err != nil {
		return err
	}
	c.Header("Location", fmt.Sprintf("/api/v1/mixes/%s/samples", b.Mix))
	return s.sampleList(c, http.StatusCreated, b.Mix, made)
}

func (s *Server) apiApprove(c *gin.Context) error {
	var b approvedBy
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	m, err := s.bench.Approve(c.Request.Context(), b.Sample, b.By)
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, mixOf(m))
}
