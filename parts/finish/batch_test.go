package finish

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

// mixed is a batch of a litre or so, mixed at noon.
func mixed(t *testing.T, m Mix) Batch {
	t.Helper()
	d, p := Dose(m, syringe(), Range{Litre, Litre * 11 / 10})
	require.Nil(t, p)
	b, p := Mixed(m, d, nil, UsualJar, 7, noon)
	require.Nil(t, p)
	b.Number = 12
	return b
}

func TestUsable(t *testing.T) {
	tests := []struct {
		name  string
		mix   Mix
		after time.Duration
		do    func(*Batch)
		code  string
	}{
		{"just mixed", clearCoat(), 0, nil, ""},
		{"a second before it sets", clearCoat(), 2*time.Hour - time.Second, nil, ""},
		{"when it sets", clearCoat(), 2 * time.Hour, nil, CodePotLifePast},
		{"two-part, days after", clearCoat(), 72 * time.Hour, nil, CodePotLifePast},
		{"two-part, set and closed: the worse of the two is said", clearCoat(), 72 * time.Hour, func(b *Batch) { b.Open = false }, CodePotLifePast},
		{"one-part, a year after", stain(), 365 * 24 * time.Hour, nil, ""},
		{"closed", stain(), time.Hour, func(b *Batch) { b.Open = false }, CodeBatchClosed},
		{"used up", stain(), time.Hour, func(b *Batch) { b.Left = 0 }, CodeBatchEmpty},
		{"told by a clock that is behind", clearCoat(), -time.Hour, nil, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := mixed(t, tt.mix)
			if tt.do != nil {
				tt.do(&b)
			}
			p := Usable(b, noon.Add(tt.after))
			assert.Equal(t, tt.code, codeOf(p))
			if p != nil {
				assert.NotEmpty(t, p.Do)
				assert.Equal(t, parts.Refused, p.Sort)
				assert.NotContains(t, p.Error(), "%!")
			}
		})
	}
}

func TestABatchKeepsThePotLifeItWasMixedWith(t *testing.T) {
	m := clearCoat()
	b := mixed(t, m)
	m.PotLife = 600
	assert.Equal(t, noon.Add(2*time.Hour), b.Until(), "the mix may change, the batch does not")
	assert.Zero(t, mixed(t, stain()).Until())
}

func TestAnOldCanIsOnlyWarnedAbout(t *testing.T) {
	day := 24 * time.Hour
	tests := []struct {
		name string
		can  Container
		code string
	}{
		{"nothing is known of it", Container{Name: "Clear"}, ""},
		{"good for another day", Container{Name: "Clear", Expires: noon.Add(day)}, ""},
		{"expires this moment", Container{Name: "Clear", Expires: noon}, CodeCanExpired},
		{"opened half a year ago", Container{Name: "Clear", Opened: noon.Add(-180 * day)}, ""},
		{"opened two years ago", Container{Name: "Clear", Opened: noon.Add(-730 * day)}, CodeCanOld},
		{"expired, and long open: once is enough", Container{Name: "Clear", Opened: noon.Add(-730 * day), Expires: noon.Add(-day)}, CodeCanExpired},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			doubts := Doubts([]Container{tt.can}, noon)
			if tt.code == "" {
				assert.Empty(t, doubts)
				return
			}
			require.Len(t, doubts, 1)
			assert.Equal(t, tt.code, doubts[0].Code)
			b := mixed(t, stain())
			b.From = []Container{tt.can}
			assert.Nil(t, Usable(b, noon.Add(time.Hour)), "and it may be used all the same")
		})
	}
}

func TestMixed(t *testing.T) {
	b := mixed(t, stain())
	assert.Equal(t, b.Volume-UsualJar, b.Left)
	assert.Equal(t, UsualJar, b.Jar)
	assert.Equal(t, stain().Recipe(), b.Recipe)
	assert.True(t, b.Open)

	two := mixed(t, clearCoat())
	assert.Zero(t, two.Jar, "a jar of what sets is of no use")
	assert.Equal(t, two.Volume, two.Left)

	_, p := Mixed(stain(), Dosing{Volume: UsualJar}, nil, UsualJar, 7, noon)
	assert.Equal(t, CodeJarTooLarge, codeOf(p))

	m := stain()
	m.Components[1].NeedsLot = true
	cans := []Container{{Name: "Stain base"}, {Name: "oak brown", Lot: " "}}
	_, p = Mixed(m, Dosing{Volume: Litre}, cans, 0, 7, noon)
	assert.Equal(t, CodeLotMissing, codeOf(p))
	cans[1].Lot = "K-204"
	_, p = Mixed(m, Dosing{Volume: Litre}, cans, 0, 7, noon)
	assert.Nil(t, p)
}

func TestAScanTakesTheOpenBatchMixedLast(t *testing.T) {
	m := clearCoat()
	morning, midday, other := mixed(t, m), mixed(t, m), mixed(t, stain())
	morning.Number, morning.MixedAt = 1, noon.Add(-time.Hour)
	midday.Number, other.Number = 2, 3
	all := []Batch{morning, midday, other}

	b, p := OpenBatch(all, m, noon.Add(time.Minute))
	require.Nil(t, p)
	assert.EqualValues(t, 2, b.Number)

	all[1].Open = false
	b, p = OpenBatch(all, m, noon.Add(time.Minute))
	require.Nil(t, p)
	assert.EqualValues(t, 1, b.Number)

	_, p = OpenBatch(all, m, noon.Add(90*time.Minute))
	assert.Equal(t, CodePotLifePast, codeOf(p), "it says why the open one will not do")
	_, p = OpenBatch(nil, m, noon)
	assert.Equal(t, CodeNoBatch, codeOf(p))
	all[0].Open = false
	_, p = OpenBatch(all, m, noon)
	assert.Equal(t, CodeNoBatch, codeOf(p), "closed ones are nobody's business any more")
}

func TestTake(t *testing.T) {
	b := mixed(t, stain())
	less, p := Take(b, 100*Millilitre)
	require.Nil(t, p)
	assert.Equal(t, b.Left-100*Millilitre, less.Left)
	for _, v := range []Volume{-1, b.Left + 1} {
		same, p := Take(b, v)
		assert.Equal(t, CodeMoreThanLeft, codeOf(p))
		assert.Equal(t, b, same)
	}
	none, p := Take(b, b.Left)
	require.Nil(t, p)
	assert.Equal(t, CodeBatchEmpty, codeOf(Usable(none, noon)))
}

// What is stored comes back as it was: mixes and batches are rows.
func TestAMixAndABatchComeBackFromWhereTheyAreKept(t *testing.T) {
	m, p := Approve(Sample{Number: 1, Mix: stain(), Wood: "white oak", Grit: 150, Coats: 2}, "Tern Point Rowing Club", noon)
	require.Nil(t, p)
	data, err := json.Marshal(m)
	require.NoError(t, err)
	var back Mix
	require.NoError(t, json.Unmarshal(data, &back))
	assert.Equal(t, m, back)

	b := mixed(t, clearCoat())
	data, err = json.Marshal(b)
	require.NoError(t, err)
	var same Batch
	require.NoError(t, json.Unmarshal(data, &same))
	assert.Equal(t, b, same)
}

// coat says that a piece gets the first coat of stain from a batch.
func coat(piece parts.ID, batch int64, faces ...parts.Face) Coated {
	return Coated{Part: piece, Name: "Front " + string(piece), Coat: "stain", N: 1, Faces: faces, Batch: batch}
}

func TestCheckGroups(t *testing.T) {
	wall := []Group{{Name: "the north wall", Parts: []parts.ID{"A", "B", "C"}}, {Name: "the south wall", Parts: []parts.ID{"D"}}}
	second := func(c Coated) Coated { c.N = 2; return c }
	topcoat := func(c Coated) Coated { c.Coat = "topcoat"; return c }
	tests := []struct {
		name           string
		before, coming []Coated
		warnings       int
	}{
		{"the same batch", []Coated{coat("A", 1)}, []Coated{coat("B", 1)}, 0},
		{"another batch", []Coated{coat("A", 1)}, []Coated{coat("B", 2)}, 1},
		{"on a cart, three at once, one sentence", []Coated{coat("A", 1)}, []Coated{coat("B", 2), coat("C", 2)}, 1},
		{"two batches in one go, said once", nil, []Coated{coat("A", 1), coat("B", 2)}, 1},
		{"another wall", []Coated{coat("A", 1)}, []Coated{coat("D", 2)}, 0},
		{"in no group", []Coated{coat("A", 1)}, []Coated{coat("X", 2)}, 0},
		{"the second coat over the first", []Coated{coat("A", 1)}, []Coated{second(coat("B", 2))}, 0},
		{"another kind of coat", []Coated{coat("A", 1)}, []Coated{topcoat(coat("B", 2))}, 0},
		{"its back, and the other's front", []Coated{coat("A", 1, parts.BackFace)}, []Coated{coat("B", 2, parts.ShowFace)}, 0},
		{"a face that both have", []Coated{coat("A", 1, parts.Edges)}, []Coated{coat("B", 2, parts.ShowFace, parts.Edges)}, 1},
		{"done over in what the rest had", []Coated{coat("A", 1), coat("B", 2)}, []Coated{coat("B", 1)}, 0},
		{"the rest was done over since", []Coated{coat("A", 1), coat("A", 2)}, []Coated{coat("B", 2)}, 0},
		{"nothing is coming", []Coated{coat("A", 1), coat("B", 2)}, nil, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			warnings := CheckGroups(wall, tt.before, tt.coming)
			require.Len(t, warnings, tt.warnings)
			for _, p := range warnings {
				assert.Equal(t, CodeBatchesDiffer, p.Code)
				assert.Contains(t, p.Error(), "the north wall")
				assert.NotEmpty(t, p.Do)
			}
		})
	}
}

// Whatever the history: a group that is all of one batch is never warned
// about, and two pieces side by side from two batches always are.
func TestAGroupIsWarnedAboutWhenItsBatchesDiffer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 8).Draw(t, "pieces")
		g := Group{Name: "a wall"}
		var all []Coated
		differ := false
		for i := range n {
			id := parts.ID(string(rune('A' + i)))
			g.Parts = append(g.Parts, id)
			all = append(all, coat(id, rapid.Int64Range(1, 2).Draw(t, "batch")))
		}
		at := rapid.IntRange(0, n-1).Draw(t, "coming from")
		for _, c := range all[at:] {
			for _, o := range all {
				differ = differ || o.Batch != c.Batch
			}
		}
		assert.Equal(t, differ, len(CheckGroups([]Group{g}, all[:at], all[at:])) > 0)
	})
}

func TestReaches(t *testing.T) {
	b := mixed(t, stain())
	g := Group{Name: "the north wall"}
	assert.Nil(t, Reaches(g, b, b.Left))
	assert.Equal(t, CodeWontReach, codeOf(Reaches(g, b, b.Left+1)))
}
