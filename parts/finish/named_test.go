package finish

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestACanIsCalledAsTheMixesCallIt(t *testing.T) {
	names := Ingredients([]Mix{stain(), clearCoat(), stain()})
	require.Equal(t, Names{"Clear", "Flow additive", "Hardener", "Oak brown", "Stain base", "Thinner"}, names)
	said, p := names.Known(" stain BASE ")
	require.Nil(t, p)
	require.Equal(t, "Stain base", said)
	_, p = names.Known("Stian base")
	require.Equal(t, CodeNoIngredient, codeOf(p))
	require.True(t, strings.HasPrefix(p.DoArgs[0].(string), "Stain base"), "the nearest comes first: %s", p.Error())
	_, p = Names{}.Known("Stain base")
	require.Equal(t, CodeNoIngredient, codeOf(p))
}

// The distances are those that textbooks give for these pairs.
func TestSlips(t *testing.T) {
	assert.Equal(t, 3, slips("kitten", "sitting"))
	assert.Equal(t, 3, slips("saturday", "sunday"))
	assert.Equal(t, 4, slips("", "oak!"))
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringMatching(`[a-c]{0,5}`)
		a, b, c := word.Draw(t, "a"), word.Draw(t, "b"), word.Draw(t, "c")
		assert.Equal(t, slips(a, b), slips(b, a))
		assert.LessOrEqual(t, slips(a, c), slips(a, b)+slips(b, c))
		assert.Equal(t, a == b, slips(a, b) == 0)
	})
}
