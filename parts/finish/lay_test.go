package finish

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// approved is the stain with its colour chosen.
func approved() Mix {
	m := stain()
	m.Approved = &Approval{By: "the client", At: noon.Add(-48 * time.Hour), Recipe: m.Recipe()}
	return m
}

func TestLay(t *testing.T) {
	m, two := approved(), clearCoat()
	pot := func(n int64, of Mix, ago time.Duration) Batch {
		return Batch{Number: n, Mix: of.Key, Name: of.Name, Recipe: of.Recipe(), MixedAt: noon.Add(-ago), PotLife: of.PotLife,
			Volume: 300 * Millilitre, Left: 200 * Millilitre, Open: true}
	}
	front := func(id parts.ID, batch int64) Coated {
		return Coated{Part: id, Name: "Front " + string(id), Coat: "stain", N: 1, Batch: batch}
	}
	empty, closed, other, old, jar := pot(1, m, time.Hour), pot(1, m, time.Hour), pot(1, m, time.Hour), pot(1, m, time.Hour), pot(1, m, time.Hour)
	empty.Left, closed.Open, other.Recipe = 0, false, "Stain base 2 : Oak brown 1"
	old.From = []Container{{Name: "Stain base", Opened: noon.Add(-2 * UsualShelf)}}
	jar.Jar, jar.Open = UsualJar, false
	wall := []Group{{Name: "North wall", Parts: []parts.ID{"A", "B"}}}
	tests := []struct {
		name   string
		pots   Pots
		ask    Coating
		batch  int64
		code   string
		doubts int
	}{
		{"a mix that nobody wrote", Pots{}, Coating{Mix: "none"}, 0, "", 0},
		{"colour that nobody approved", Pots{Mixes: map[string]Mix{m.Key: stain()}, Batches: []Batch{pot(1, m, time.Hour)}}, Coating{Mix: m.Key}, 0, CodeNotApproved, 0},
		{"the same on test pieces", Pots{Mixes: map[string]Mix{m.Key: stain()}, Batches: []Batch{pot(1, m, time.Hour)}}, Coating{Mix: m.Key, Trying: true}, 1, "", 0},
		{"the open batch", Pots{Batches: []Batch{pot(1, m, time.Hour)}}, Coating{Mix: m.Key}, 1, "", 0},
		{"the one mixed last", Pots{Batches: []Batch{pot(2, m, time.Hour), pot(1, m, 2*time.Hour)}}, Coating{Mix: m.Key}, 2, "", 0},
		{"the one that a person names", Pots{Batches: []Batch{pot(2, m, time.Hour), pot(1, m, 2*time.Hour)}}, Coating{Mix: m.Key, Batch: 1}, 1, "", 0},
		{"one that is not there", Pots{Batches: []Batch{pot(2, m, time.Hour)}}, Coating{Mix: m.Key, Batch: 9}, 0, CodeBatchUnknown, 0},
		{"one that was mixed after the coat", Pots{Batches: []Batch{pot(1, m, -time.Minute)}}, Coating{Mix: m.Key}, 0, "", 0},
		{"none, and nobody minds", Pots{}, Coating{Mix: m.Key}, 0, "", 0},
		{"none, and the shop minds", Pots{Record: true}, Coating{Mix: m.Key}, 0, CodeNoBatch, 0},
		{"a closed one, and the shop minds", Pots{Record: true, Batches: []Batch{closed}}, Coating{Mix: m.Key}, 0, CodeNoBatch, 0},
		{"one minute before it sets", Pots{Batches: []Batch{pot(1, two, 119*time.Minute)}}, Coating{Mix: two.Key}, 1, "", 0},
		{"on the minute it sets", Pots{Batches: []Batch{pot(1, two, 120*time.Minute)}}, Coating{Mix: two.Key}, 0, CodePotLifePast, 0},
		{"an old pot beside a fresh one", Pots{Batches: []Batch{pot(1, two, 3*time.Hour), pot(2, two, time.Hour)}}, Coating{Mix: two.Key}, 2, "", 0},
		{"past its pot life, and a person insists", Pots{Batches: []Batch{pot(1, two, 3*time.Hour)}}, Coating{Mix: two.Key, GoOn: true}, 0, CodePotLifePast, 0},
		{"used up by the estimate", Pots{Batches: []Batch{empty}}, Coating{Mix: m.Key}, 1, "", 1},
		{"used up, beside one that is not", Pots{Batches: []Batch{empty, pot(2, m, 2*time.Hour)}}, Coating{Mix: m.Key}, 2, "", 0},
		{"out of an old can", Pots{Batches: []Batch{old}}, Coating{Mix: m.Key}, 1, "", 1},
		{"mixed by other shares", Pots{Batches: []Batch{other}}, Coating{Mix: m.Key}, 0, CodeColourChanged, 0},
		{"another batch than its neighbour", Pots{Groups: wall, Before: []Coated{front("A", 1)}, Batches: []Batch{pot(2, m, time.Hour)}},
			Coating{Mix: m.Key, Pieces: []Coated{front("B", 0)}}, 0, CodeBatchesDiffer, 0},
		{"that, and a person wants it", Pots{Groups: wall, Before: []Coated{front("A", 1)}, Batches: []Batch{pot(2, m, time.Hour)}},
			Coating{Mix: m.Key, Pieces: []Coated{front("B", 0)}, GoOn: true}, 2, "", 0},
		{"the batch of its neighbour", Pots{Groups: wall, Before: []Coated{front("A", 2)}, Batches: []Batch{pot(2, m, time.Hour)}},
			Coating{Mix: m.Key, Pieces: []Coated{front("B", 0)}}, 2, "", 0},
		{"touching up from its jar", Pots{Before: []Coated{front("A", 1)}, Batches: []Batch{jar, pot(2, m, time.Hour)}},
			Coating{Mix: m.Key, Pieces: []Coated{front("A", 0)}, TouchUp: true}, 1, "", 0},
		{"touching up without a jar", Pots{Before: []Coated{front("A", 2)}, Batches: []Batch{pot(2, m, time.Hour)}},
			Coating{Mix: m.Key, Pieces: []Coated{front("A", 0)}, TouchUp: true}, 0, "", 0},
		{"that, and the shop minds", Pots{Record: true, Before: []Coated{front("A", 2)}, Batches: []Batch{pot(2, m, time.Hour)}},
			Coating{Mix: m.Key, Pieces: []Coated{front("A", 0)}, TouchUp: true}, 0, CodeNoJar, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if tt.pots.Mixes == nil {
				tt.pots.Mixes = map[string]Mix{m.Key: m, two.Key: two}
			}
			tt.ask.At = noon
			b, doubts, refused := Lay(tt.pots, tt.ask)
			require.Equal(t, tt.code, codeOf(refused))
			require.Equal(t, tt.batch, b.Number)
			require.Len(t, doubts, tt.doubts)
			if refused != nil {
				require.NotEmpty(t, refused.Do, "a refusal says what to do")
			}
		})
	}
}

// While the batch of the rest is open, the refusal names it: one tap takes it.
func TestLayNamesTheBatchOfTheRest(t *testing.T) {
	m := approved()
	one, two := Batch{Number: 1, Mix: m.Key, Recipe: m.Recipe(), MixedAt: noon.Add(-2 * time.Hour), Left: Litre, Open: true}, Batch{Number: 2, Mix: m.Key, Recipe: m.Recipe(), MixedAt: noon, Left: Litre, Open: true}
	p := Pots{Mixes: map[string]Mix{m.Key: m}, Batches: []Batch{one, two}, Groups: []Group{{Name: "Wall", Parts: []parts.ID{"A", "B"}}},
		Before: []Coated{{Part: "A", Coat: "stain", N: 1, Batch: 1}}}
	ask := Coating{Mix: m.Key, At: noon, Pieces: []Coated{{Part: "B", Coat: "stain", N: 1}}}
	_, _, refused := Lay(p, ask)
	require.Equal(t, int64(1), refused.Facts["instead"])
	p.Batches[0].Open = false
	_, _, refused = Lay(p, ask)
	require.NotContains(t, refused.Facts, "instead")
}

// 1 m² at 12 m² to the litre with a tenth lost takes 92.6 ml; the reserve
// stays in the pot.
func TestTakes(t *testing.T) {
	got := Takes(stain(), SquareMetre)
	require.InDelta(t, 1000.0/12/0.9, float64(got)/float64(Millilitre), 1e-6)
	m := stain()
	m.Coverage = 0
	require.Zero(t, Takes(m, SquareMetre), "nobody wrote how far it goes")
}

// The list for a size is the same every time, and never less than asked for.
func TestDoseAbout(t *testing.T) {
	m := stain()
	for _, size := range []Volume{100 * Millilitre, 250 * Millilitre, 333 * Millilitre, Litre} {
		first, p := DoseAbout(m, syringe(), size)
		require.Nil(t, p)
		require.GreaterOrEqual(t, first.Volume, size)
		for range 2 {
			again, p := DoseAbout(m, syringe(), size)
			require.Nil(t, p)
			require.Equal(t, first, again)
		}
	}
	for _, size := range []Volume{0, -1, MostVolume + 1} {
		_, p := DoseAbout(m, syringe(), size)
		require.Equal(t, CodeNothing, codeOf(p))
	}
}

// A list that is asked for again by what it came to is the same list: what is
// read off a page and typed in again does not grow.
func TestDoseAgain(t *testing.T) {
	for _, ms := range []Measure{syringe(), UsualMeasures()[1], balance()} {
		for _, m := range []Mix{stain(), clearCoat()} {
			for i := range m.Components {
				m.Components[i].Density = 105 * One / 100
			}
			for i := range m.Additives {
				m.Additives[i].Density = 9 * One / 10
			}
			for _, size := range []Volume{101 * Millilitre, 237 * Millilitre, 999 * Millilitre} {
				first, p := DoseAbout(m, ms, size)
				if codeOf(p) == CodeCoarse {
					continue
				}
				require.Nil(t, p)
				again, p := DoseAgain(m, ms, first.Volume)
				require.Nil(t, p)
				require.Equal(t, first, again)
			}
		}
	}
}

// A step that names no mix is of the shop's for its coat, and nobody guesses
// which colour it is.
func TestMixFor(t *testing.T) {
	brown, grey, two, clear := approved(), approved(), clearCoat(), clearCoat()
	grey.Key, grey.Name = "locker-grey", "Locker grey"
	clear.Key, clear.Name = "soft-clear", "Soft clear"
	pot := func(n int64, of Mix) Batch {
		return Batch{Number: n, Mix: of.Key, Name: of.Name, Recipe: of.Recipe(), MixedAt: noon.Add(-time.Minute * time.Duration(n)), Left: Litre, Open: true}
	}
	shut := pot(2, grey)
	shut.Open = false
	tests := []struct {
		name    string
		mixes   []Mix
		batches []Batch
		coat    string
		ask     Coating
		want    string
		code    string
	}{
		{"no mix for the coat", []Mix{two}, nil, "stain", Coating{}, "", ""},
		{"the only one", []Mix{brown, two}, nil, "Stain", Coating{}, brown.Key, ""},
		{"two, and one has a batch", []Mix{brown, grey}, []Batch{pot(1, grey), pot(9, two)}, "stain", Coating{}, grey.Key, ""},
		{"two, and both have one", []Mix{brown, grey}, []Batch{pot(1, brown), pot(2, grey)}, "stain", Coating{}, "", CodeWhichMix},
		{"that, and a person says which", []Mix{brown, grey}, []Batch{pot(1, brown), pot(2, grey)}, "stain", Coating{Batch: 2}, grey.Key, ""},
		{"two, and a closed batch says nothing", []Mix{brown, grey}, []Batch{shut}, "stain", Coating{}, "", CodeWhichMix},
		{"two, on a test piece", []Mix{brown, grey}, nil, "stain", Coating{Trying: true}, "", ""},
		{"two that give no colour", []Mix{two, clear}, nil, "topcoat", Coating{}, two.Key, ""},
		{"two that give no colour, the last batch", []Mix{two, clear}, []Batch{pot(2, two), pot(1, clear)}, "topcoat", Coating{}, clear.Key, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := Pots{Mixes: map[string]Mix{}, Batches: tt.batches}
			for _, m := range tt.mixes {
				p.Mixes[m.Key] = m
			}
			tt.ask.At = noon
			got, refused := p.MixFor(tt.coat, tt.ask)
			require.Equal(t, tt.code, codeOf(refused))
			require.Equal(t, tt.want, got)
			if refused != nil {
				require.NotEmpty(t, refused.Do)
			}
		})
	}
}
