package finish

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

func can(name string, left Volume, opened time.Time) Can {
	return Can{Container: Container{Name: name, Opened: opened}, Left: left}
}

// 920 ml are 600 of base, 200 of colour and 120 of the additive.
func TestSupplies(t *testing.T) {
	shelf := []Can{can("stain base", 500*Millilitre, noon), can("Stain base", 50*Millilitre, noon.AddDate(-2, 0, 0)), can("Oak brown", Litre, noon)}
	given, list, p := Supplies(stain(), 920*Millilitre, nil, shelf, noon)
	require.Nil(t, p)
	assert.Zero(t, given)
	assert.Equal(t, []Supply{
		{Name: "Stain base", Needed: 600 * Millilitre, Have: 550 * Millilitre, Buy: 50 * Millilitre, Old: true},
		{Name: "Oak brown", Needed: 200 * Millilitre, Have: Litre},
		{Name: "Flow additive", Needed: 120 * Millilitre, Buy: 120 * Millilitre},
	}, list)
}

func TestOpenBatchesAreUsedUpFirst(t *testing.T) {
	b := mixed(t, stain())
	b.Left = 460 * Millilitre
	given, list, p := Supplies(stain(), 920*Millilitre, []Batch{b}, nil, noon)
	require.Nil(t, p)
	assert.Equal(t, 460*Millilitre, given)
	assert.Equal(t, 300*Millilitre, list[0].Needed)

	given, list, p = Supplies(stain(), 100*Millilitre, []Batch{b}, nil, noon)
	require.Nil(t, p)
	assert.Equal(t, 100*Millilitre, given, "no more than is needed")
	assert.Zero(t, list[0].Needed+list[0].Buy)

	other := b
	other.Recipe = "another"
	closed := b
	closed.Open = false
	given, _, p = Supplies(stain(), Litre, []Batch{other, closed}, nil, noon)
	require.Nil(t, p)
	assert.Zero(t, given, "another recipe is another colour, and what is closed is gone")

	given, _, p = Supplies(clearCoat(), Litre, []Batch{mixed(t, clearCoat())}, nil, noon)
	require.Nil(t, p)
	assert.Zero(t, given, "what sets in its pot finishes no job")
}

func TestSuppliesAddUpToWhatIsNeeded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMix(t)
		need := Volume(rapid.IntRange(1, 5000).Draw(t, "need")) * Millilitre
		_, list, p := Supplies(m, need, nil, nil, noon)
		require.Nil(t, p)
		var sum Volume
		for _, s := range list {
			require.Equal(t, s.Needed, s.Buy, "nothing is there")
			sum += s.Needed
		}
		assert.GreaterOrEqual(t, sum, need)
		assert.LessOrEqual(t, sum, need+Volume(len(list)), "each is rounded up by itself")
	})
}

func TestUsedEmptiesTheCanThatWasOpenedFirst(t *testing.T) {
	d, p := Dose(stain(), syringe(), Range{92 * Millilitre, 92 * Millilitre})
	require.Nil(t, p)
	shelf := []Can{can("Stain base", Litre, noon), can("Stain base", 40*Millilitre, noon.AddDate(0, -1, 0)), can("Oak brown", 15*Millilitre, noon), can("Flow additive", Litre, noon)}
	left, short := Used(d, shelf)
	assert.Equal(t, 5*Millilitre, short, "of the colour")
	assert.Zero(t, left[0].Left, "the older can of base is empty")
	assert.Equal(t, 980*Millilitre, left[1].Left)
	assert.Equal(t, 40*Millilitre, shelf[1].Left, "what was given is not changed")
}

func TestTouchUpTakesTheJarOfItsBatch(t *testing.T) {
	first, second := mixed(t, stain()), mixed(t, stain())
	first.Number, second.Number = 1, 2
	batches := []Batch{first, second}
	again := coat("A", 2)
	again.N = 2
	before := []Coated{coat("A", 1), coat("B", 1), again}

	b, p := TouchUp("A", "stain", before, batches)
	require.Nil(t, p)
	assert.EqualValues(t, 2, b.Number, "the coat on top is what one sees")
	b, p = TouchUp("B", "stain", before, batches)
	require.Nil(t, p)
	assert.EqualValues(t, 1, b.Number)
	_, p = TouchUp("C", "stain", before, batches)
	assert.Equal(t, CodeNoJar, codeOf(p))
	_, p = TouchUp("A", "topcoat", before, batches)
	assert.Equal(t, CodeNoJar, codeOf(p))
	batches[1].Jar = 0
	_, p = TouchUp("A", "stain", before, batches)
	assert.Equal(t, CodeNoJar, codeOf(p))

	batches[1].Jar = UsualJar
	jars := Jars([]parts.ID{"A", "B"}, before, batches)
	require.Len(t, jars, 2)
	assert.Equal(t, []int{2, 1}, []int{jars[0].Pieces, jars[1].Pieces})
	assert.Empty(t, Jars([]parts.ID{"C"}, before, batches))
}

// 150, 50 and 30 ml of base, colour and additive are more than the bare need
// of 225 ml: what is bought covers the list.
func TestWhatIsBoughtCoversTheList(t *testing.T) {
	plan, p := Split(stain(), syringe(), 225*Millilitre, 0)
	require.Nil(t, p)
	list := SuppliesFor(plan, nil, noon)
	var sum Volume
	for i, s := range list {
		assert.Equal(t, plan.Each.Portions[i].Volume, s.Buy)
		sum += s.Buy
	}
	assert.Equal(t, 230*Millilitre, sum, "the smallest batch above 225 ml whose shares of 4.6 come out even in millilitres")
}

func TestACanPastItsDateDoesNotCount(t *testing.T) {
	old, good := can("Stain base", Litre, noon), can("Stain base", 100*Millilitre, noon)
	old.Expires, good.Expires = noon, noon.Add(time.Minute)
	assert.True(t, old.Past(noon))
	_, list, p := Supplies(stain(), 920*Millilitre, nil, []Can{old, good}, noon)
	require.Nil(t, p)
	assert.Equal(t, Supply{Name: "Stain base", Needed: 600 * Millilitre, Have: 100 * Millilitre, Buy: 500 * Millilitre, Old: true}, list[0])
}
