package server

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/finish"
	"benchtally/parts/routing"
	"benchtally/parts/shoptest"
)

// lockerBrown is a stain of three parts to one as a program writes it.
func lockerBrown() map[string]any {
	return map[string]any{"name": "Locker brown", "coat": "stain", "method": "wipe", "coverage": "12", "loss_percent": "10",
		"components": []any{map[string]any{"name": "Stain base", "parts": "3"}, map[string]any{"name": "Oak brown", "parts": "1", "colour": true}}}
}

// finishDeeds asks for a mix, its samples, its dosing list and a batch.
func (p *program) finishDeeds() {
	p.Helper()
	p.post("/api/v1/mixes", lockerBrown()).is(201, "")
	p.get("/api/v1/mixes").is(200, "")
	p.post("/api/v1/samples", map[string]any{"mix": "locker-brown", "ratios": []string{"2:1", "3:1"}, "wood": "white oak", "grit": 180, "coats": 2}).is(201, "")
	p.get("/api/v1/mixes/locker-brown/samples").is(200, "")
	p.post("/api/v1/approvals", map[string]any{"sample": 2, "by": "the club's secretary"}).is(200, "")
	p.get("/api/v1/mixes/locker-brown/dosing?ml=250").is(200, "")
	p.post("/api/v1/batches", body("mix", "locker-brown", "ml", 250, "jar_ml", 30, "by", "Ben")).is(201, "")
	p.get("/api/v1/batches").is(200, "")
}

// A batch of 250 ml in the ratio 3:1 with 15 % on top, worked out by hand:
// 165 + 55 + 33 = 253 ml is the smallest that keeps both without rounding.
func TestDosingForPrograms(t *testing.T) {
	p := openProgram(t, false)
	m := lockerBrown()
	m["additives"] = []any{map[string]any{"name": "Flow additive", "percent": "15", "of": "whole", "most_percent": "15"}}
	m["per_hour_ml"] = 500
	var mix mixJSON
	p.post("/api/v1/mixes", m).is(201, "").into(&mix)
	assert.False(t, mix.Usable, "nobody has approved the colour")
	assert.Equal(t, 500.0, mix.PerHour)
	var d dosingJSON
	p.get("/api/v1/mixes/locker-brown/dosing?ml=250&measure=syringe").into(&d)
	var marks []int
	for _, portion := range d.Portions {
		marks = append(marks, portion.Marks)
	}
	assert.Equal(t, []int{165, 55, 33}, marks)
	assert.Equal(t, 253.0, d.ML)
	assert.Zero(t, d.RatioOff)
	assert.Equal(t, "2 full and 45 marks", d.Portions[0].Say)
	for query, want := range map[string]string{
		"": "field-missing", "?ml=much": "field-wrong", "?ml=-1": "field-wrong", "?ml=1e30": "field-wrong", "?ml=NaN": "field-wrong",
		"?ml=0": finish.CodeNothing, "?ml=250&measure=thimble": finish.CodeMeasure,
	} {
		p.get("/api/v1/mixes/locker-brown/dosing"+query).is(400, want)
	}
	p.get("/api/v1/mixes/none/dosing?ml=250").is(404, "mix-unknown")
}

func TestBadMixesOfPrograms(t *testing.T) {
	p := openProgram(t, false)
	with := func(field string, value any) map[string]any {
		m := lockerBrown()
		m[field] = value
		return m
	}
	p.post("/api/v1/mixes", with("components", []any{map[string]any{"name": "A", "parts": "0"}, map[string]any{"name": "B", "parts": "0"}})).is(400, finish.CodeRatio)
	p.post("/api/v1/mixes", with("pot_life_minutes", -1)).is(400, "field-wrong")
	p.post("/api/v1/mixes", with("additives", []any{map[string]any{"name": "C", "percent": "20", "of": "whole", "most_percent": "15"}})).is(422, finish.CodeAdditiveMost)
	p.post("/api/v1/mixes", with("method", "dip")).is(400, finish.CodeMethod)
	p.post("/api/v1/mixes", with("key", "none")).is(404, "mix-unknown")
	p.post("/api/v1/mixes", lockerBrown()).is(201, "")
	p.post("/api/v1/mixes", lockerBrown()).is(201, "") // the same again changes nothing
	p.post("/api/v1/mixes", with("coverage", "8")).is(201, "")
	p.post("/api/v1/mixes", with("coat", "topcoat")).is(422, "mix-there")
	p.post("/api/v1/mixes", with("per_hour_ml", -1)).is(400, "field-wrong")
	p.post("/api/v1/approvals", map[string]any{"sample": 7, "by": "the club's secretary"}).is(404, "sample-unknown")
	p.post("/api/v1/samples", map[string]any{"mix": "locker-brown", "wood": "white oak", "coats": 2}).is(400, finish.CodeSample)
	p.post("/api/v1/batches", body("mix", "locker-brown", "ml", 250, "jar_ml", 300)).is(400, finish.CodeJarTooLarge)
	p.post("/api/v1/batches", body("mix", "none", "ml", 250)).is(404, "mix-unknown")
}

// A scan of a stain is refused until the client chose, takes the open batch
// then, and says so in the history; a repeat takes nothing more.
func TestAScanTakesTheOpenBatch(t *testing.T) {
	p := openProgram(t, false)
	p.post("/api/v1/mixes", lockerBrown()).is(201, "")
	all, err := p.bench.Routings(t.Context())
	require.NoError(t, err)
	at := slices.IndexFunc(all, func(r parts.Routing) bool { return r.Key == routing.LoosePart })
	steps := slices.Clone(all[at].Steps)
	stain := slices.IndexFunc(steps, func(s parts.Step) bool { return s.Coat == "stain" })
	steps[stain].Mix = "locker-brown"
	all[at].Steps = steps
	_, err = p.bench.SaveRouting(t.Context(), all[at])
	require.NoError(t, err)
	mark := p.list()("Shelf")
	p.post("/api/v1/skips", body("mark", mark, "step", stain+1, "reason", "bought sanded")).is(200, "")
	refused := p.post("/api/v1/scans", body("mark", mark, "station", "stain")).is(422, finish.CodeNotApproved)
	require.Contains(t, string(refused.body), `"mix":"locker-brown"`)
	p.post("/api/v1/samples", map[string]any{"mix": "locker-brown", "wood": "white oak", "grit": 180, "coats": 2}).is(201, "")
	p.post("/api/v1/approvals", map[string]any{"sample": 1, "by": "the club's secretary"}).is(200, "")
	mixed := body("mix", "locker-brown", "ml", 250)
	var first, again batchJSON
	p.post("/api/v1/batches", mixed).is(201, "").into(&first)
	p.post("/api/v1/batches", mixed).is(201, "").into(&again)
	require.Equal(t, first, again, "the same id is the same batch")
	scan := body("mark", mark, "station", "stain")
	for range 2 {
		require.Equal(t, 1.0, p.post("/api/v1/scans", scan).is(200, "").field("batch"))
	}
	var batches []batchJSON
	p.get("/api/v1/batches").into(&batches)
	require.Len(t, batches, 1)
	require.Less(t, batches[0].LeftML, first.LeftML)
	once := batches[0].LeftML
	require.Contains(t, string(p.get("/api/v1/parts/"+mark+"/events").body), `"batch":1`)
	p.post("/api/v1/undos", body("command", scan["id"])).is(200, "")
	p.get("/api/v1/batches").into(&batches)
	require.Equal(t, first.LeftML, batches[0].LeftML, "an undo gives it back")
	p.post("/api/v1/scans", body("mark", mark, "station", "stain", "batch", 9)).is(422, finish.CodeBatchUnknown)
	p.post("/api/v1/scans", body("mark", mark, "station", "stain", "batch", 1)).is(200, "")
	p.get("/api/v1/batches").into(&batches)
	require.Equal(t, once, batches[0].LeftML)
	require.Equal(t, shoptest.Noon, batches[0].MixedAt)
}
