package safe

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

// eighths draws a length of up to most inches.
func eighths(t *rapid.T, most int, name string) parts.Length {
	return parts.Inch / 8 * parts.Length(rapid.IntRange(0, most*8).Draw(t, name))
}

func drawStep(t *rapid.T) parts.Step {
	s := parts.Step{
		Name: "step", Station: "plane",
		Makes: rapid.SampledFrom([]parts.Dimension{"", parts.ToLength, parts.ToWidth, parts.ToThickness}).Draw(t, "makes"),
		Snipe: eighths(t, 4, "snipe"),
		Safe:  parts.Smallest{Length: eighths(t, 40, "least length"), Width: eighths(t, 6, "least width"), Thick: eighths(t, 2, "least thickness")},
		Bores: rapid.Bool().Draw(t, "bores"),
	}
	if rapid.IntRange(0, 4).Draw(t, "waits") == 0 {
		s.Station, s.Clock = "", parts.Resting
	}
	return s
}

// drawn is a line, its steps, and allowances. At most one of the steps makes
// the parts distinct.
func drawn(t *rapid.T) (parts.Line, parts.Routing, Allowances) {
	steps := rapid.SliceOfN(rapid.Custom(drawStep), 1, 8).Draw(t, "steps")
	if at := rapid.IntRange(-1, len(steps)-1).Draw(t, "parts at"); at >= 0 {
		steps[at].Parts = true
	}
	size := func(most int, name string) parts.Size {
		return parts.Size{Length: eighths(t, most, name), ToSuit: rapid.IntRange(0, 9).Draw(t, name+" to suit") == 0}
	}
	l := parts.Line{
		Name: "Rail", Kind: parts.Single, Quantity: rapid.IntRange(1, 50).Draw(t, "quantity"), PerBlank: rapid.IntRange(0, 6).Draw(t, "per blank"),
		Length: size(40, "length"), Width: size(6, "width"), Thick: size(2, "thickness"),
	}
	return l, parts.Routing{Steps: steps}, Allowances{
		Kerf: eighths(t, 1, "kerf"), TrimLength: eighths(t, 2, "trim"), Width: eighths(t, 1, "width over"), Thick: eighths(t, 1, "thickness over"),
	}
}

// at finds the warning about a size at a step.
func at(warnings []Warning, step int, d parts.Dimension) (Warning, bool) {
	for _, w := range warnings {
		if w.Step == step && w.Dimension == d {
			return w, true
		}
	}
	return Warning{}, false
}

func TestALongerBlankNeverAddsAWarning(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, r, a := drawn(t)
		before := Warnings(l, r, a)
		l.PerBlank = max(1, l.PerBlank) + rapid.IntRange(1, 5).Draw(t, "more")
		for _, w := range Warnings(l, r, a) {
			was, warned := at(before, w.Step, w.Dimension)
			require.True(t, warned, "step %d, %s", w.Step, w.Dimension)
			require.GreaterOrEqual(t, w.Have, was.Have)
		}
	})
}

func TestTheBlankIsTheSmallestThatIsLongEnough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, r, a := drawn(t)
		for _, w := range Warnings(l, r, a) {
			if w.InBlank == 0 || w.After != "" || !partsInSteps(r) {
				continue
			}
			l.PerBlank = w.InBlank
			_, warned := at(Warnings(l, r, a), w.Step, parts.ToLength)
			require.False(t, warned, "%d in a blank are enough", w.InBlank)
			require.Equal(t, w.Blank, onTheWay(l, r.Steps, a).size(parts.ToLength, w.Step, w.InBlank))
			require.GreaterOrEqual(t, w.Blank, w.Needs)
			l.PerBlank = w.InBlank - 1
			_, warned = at(Warnings(l, r, a), w.Step, parts.ToLength)
			require.True(t, warned, "one less is too short")
		}
	})
}

// The advice to cut later holds once somebody follows it.
func TestCuttingLaterTakesTheWarningAway(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, r, a := drawn(t)
		w := onTheWay(l, r.Steps, a)
		for _, warning := range Warnings(l, r, a) {
			if warning.After == "" {
				continue
			}
			later := w.cutLater(warning.Step)
			require.Len(t, later.steps, len(r.Steps))
			later.steps[later.cut].Parts = true
			l.PerBlank = warning.InBlank
			_, warned := at(Warnings(l, parts.Routing{Steps: later.steps}, a), warning.Step-1, parts.ToLength)
			require.False(t, warned)
			if warning.InBlank > 1 {
				l.PerBlank--
				_, warned = at(Warnings(l, parts.Routing{Steps: later.steps}, a), warning.Step-1, parts.ToLength)
				require.True(t, warned, "one less is too short")
			}
		}
	})
}

func TestNoLeastSizeNoWarning(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, r, a := drawn(t)
		for i := range r.Steps {
			r.Steps[i].Safe = parts.Smallest{}
		}
		require.Empty(t, Warnings(l, r, a))
	})
}

func TestEveryWarningIsTrueAndHasAWayOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, r, a := drawn(t)
		for _, w := range Warnings(l, r, a) {
			require.Less(t, w.Have, w.Needs)
			require.Positive(t, w.Have)
			require.False(t, r.Steps[w.Step].Wait())
			text := w.Text(inches)
			require.NotContains(t, text, "%!")
			require.Regexp(t, `the least there\. (Leave|Do|Rip|Carry) .*\.$`, text)
		}
	})
}

// The other way to find a length: from the finished part backwards, putting
// back at each cut what it took away.
func TestLengthsAgreeWithPuttingTheWoodBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, r, a := drawn(t)
		w := onTheWay(l, r.Steps, a)
		if w.along != parts.ToLength || l.Length.ToSuit || l.Length.Length == 0 {
			t.Skip("no length to put together")
		}
		cut := -1
		for i, s := range r.Steps {
			if s.Parts {
				cut = i
			}
		}
		final := finalCut(r.Steps, cut)
		length, since := l.Length.Length, parts.Length(0)
		for i := len(r.Steps) - 1; i >= 0; i-- {
			if i == final || i == cut {
				if i == cut {
					n := parts.Length(max(1, l.PerBlank))
					length = n*length + (n-1)*a.Kerf
				}
				since = 0
				for j := i - 1; j >= 0 && j != cut; j-- {
					since = max(since, r.Steps[j].Snipe)
				}
				length += a.TrimLength + 2*since
			}
			require.Equal(t, length, w.size(parts.ToLength, i, w.blank), "at step %d", i)
		}
	})
}

// finalCut is the cut that makes the length final, -1 for none.
func finalCut(steps []parts.Step, cut int) int {
	for i, s := range steps {
		if s.Makes == parts.ToLength && i >= cut {
			return i
		}
	}
	return cut
}

func partsInSteps(r parts.Routing) bool {
	for _, s := range r.Steps {
		if s.Parts {
			return true
		}
	}
	return false
}
