package labels

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

// The arrow points along the part or across it, and lies on nothing else.
func TestTheArrowOfTheGrain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := &Sketch{Length: parts.Length(rapid.IntRange(100, 2000).Draw(t, "length")) * parts.Millimetre,
			Width: parts.Length(rapid.IntRange(20, 600).Draw(t, "width")) * parts.Millimetre,
			Seat:  rapid.SampledFrom([]parts.Face{"", parts.BackFace}).Draw(t, "seat"),
			Grain: rapid.SampledFrom([]parts.Grain{parts.GrainLong, parts.GrainAcross}).Draw(t, "grain")}
		for range rapid.IntRange(0, 6).Draw(t, "holes") {
			s.Holes = append(s.Holes, parts.Hole{Into: rapid.SampledFrom(parts.HoleFaces).Draw(t, "into"), Diameter: 8 * parts.Millimetre, Depth: 12 * parts.Millimetre,
				Along: s.Width / parts.Length(rapid.IntRange(1, 5).Draw(t, "along"))})
		}
		v, fits := s.fit(rapid.Float64Range(20, 120).Draw(t, "w"), 40)
		if !fits {
			return
		}
		drawn := s.grain(v)
		if drawn == nil {
			return
		}
		shaft := bounds(drawn[0].points)
		assert.Equal(t, s.Grain == parts.GrainLong, shaft.width() > shaft.height())
		for _, f := range drawn {
			b := bounds(f.points)
			require.True(t, b.x0 >= 0 && b.y0 >= 0 && b.x1 <= v.long && b.y1 <= v.wide, "it leaves the part")
			for _, taken := range s.taken(v) {
				require.False(t, b.meets(taken), "it lies on %v", taken)
			}
		}
	})
	stile := &Sketch{Length: 876 * parts.Millimetre, Width: 57 * parts.Millimetre, Grain: parts.GrainLong}
	v, _ := stile.fit(60, 10)
	assert.NotEmpty(t, stile.grain(v), "a plain stile has room for it")
	stile.Grain = parts.GrainNone
	assert.Empty(t, stile.grain(v))
}

// What there is no room for goes as a whole, the least needed first; that the
// grain runs across is said on every label that says the material.
func TestTheGrainInWords(t *testing.T) {
	said := func(g parts.Grain, width float64) string {
		l := Label{Material: "white oak, quartersawn", Assembly: "Locker front 7", Grain: g}
		rows := l.woodAndAssembly(style{face: regular, pt: 7, fall: 6}, width, 1)
		require.Len(t, rows, 1)
		return rows[0].text
	}
	assert.Equal(t, "white oak, quartersawn, grain ↔ · Locker front 7", said(parts.GrainLong, 80), "an arrow is enough on a sticker")
	assert.Equal(t, "white oak, quartersawn, grain ↔ · Locker front 7", said(parts.GrainLong, 52))
	tag := Label{Material: "white oak, quartersawn", Grain: parts.GrainLong}
	assert.Equal(t, "white oak, quartersawn, grain lengthwise", tag.wood(style{face: regular, pt: 7, fall: 6}, 80, 1)[0].text, "on a tag there is room for the word")
	assert.Equal(t, "white oak, quartersawn · Locker front 7", said(parts.GrainLong, 43))
	assert.Equal(t, "white oak, quartersawn, grain ↕ · Locker front 7", said(parts.GrainAcross, 52))
	assert.Contains(t, said(parts.GrainAcross, 36), "grain ↕")
	for _, r := range "↔↕" {
		assert.Positive(t, regular.advance(r), "%c", r)
		assert.Positive(t, bold.advance(r), "%c", r)
	}
}
