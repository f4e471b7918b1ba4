package air

import (
	"fmt"
	"math"

	"benchtally/parts"
)

// The moistures between which a size changes evenly, by Eq. (13-2).
const (
	evenFrom = 6.0
	evenTo   = 14.0
)

// Movement is how much a size across the grain grows, or below zero shrinks,
// when its wood goes from one moisture content to another, both in percent.
// perPoint is a species' change for each point. Along the grain wood hardly
// moves.
//
// From 6 to 14 % it is Eq. (13-2) of the Wood Handbook, size times perPoint
// times the difference. Beyond, it is Eq. (13-3), from the wood's whole
// shrinkage S: size times the difference over (30*100/S - 30 + from). S is
// taken from perPoint, which the book's own table gets from it at 10 %.
func Movement(size parts.Length, perPoint, from, to float64) (parts.Length, error) {
	if err := checkMoisture(from, to); err != nil {
		return 0, err
	}
	share := perPoint
	if min(from, to) < evenFrom || max(from, to) > evenTo {
		const midway = 10.0
		share = 1 / (1/perPoint - midway + from)
	}
	return parts.Length(math.Round(float64(size) * share * (to - from))), nil
}

// Gap is a gap or a reveal that wood beside it may close or open.
type Gap struct {
	Now   parts.Length
	Least parts.Length // less than that binds or looks wrong; zero where it may just close
	Most  parts.Length // more than that shows or rattles; zero where that does not matter
}

// Verdict says what becomes of a gap.
type Verdict string

// The verdicts.
const (
	Survives Verdict = "survives"
	TooTight Verdict = "too tight"
	TooWide  Verdict = "too wide"
)

// Outcome is a gap after the wood beside it has moved.
type Outcome struct {
	Gap
	Moved   parts.Length // what the wood grew; below zero, shrank
	Then    parts.Length // the gap that is left; below zero, the wood presses
	Verdict Verdict
}

// After is what becomes of the gap when the wood that borders it grows by
// moved in all. A reveal on both sides of a door is one gap of both together.
func (g Gap) After(moved parts.Length) Outcome {
	o := Outcome{Gap: g, Moved: moved, Then: g.Now - moved, Verdict: Survives}
	switch {
	case o.Then < g.Least:
		o.Verdict = TooTight
	case g.Most > 0 && o.Then > g.Most:
		o.Verdict = TooWide
	}
	return o
}

// Say is the outcome as a format and its values, with lengths as the shop
// writes them.
func (o Outcome) Say(st parts.Style) (format string, args []any) {
	grown, size := "grows", o.Moved
	if o.Moved < 0 {
		grown, size = "shrinks", -o.Moved
	}
	args = []any{grown, size.Format(st)}
	switch {
	case o.Verdict == TooTight && o.Then < 0:
		return "The wood %s by %s, more than the gap of %s: it will press. Leave at least %s.", append(args, o.Now.Format(st), (o.Least + o.Moved).Format(st))
	case o.Verdict == TooTight:
		return "The wood %s by %s and leaves a gap of %s, less than %s. Leave at least %s.", append(args, o.Then.Format(st), o.Least.Format(st), (o.Least + o.Moved).Format(st))
	case o.Verdict == TooWide:
		return "The wood %s by %s and the gap opens to %s, more than %s. Let the wood come to the room's moisture before you fit it.", append(args, o.Then.Format(st), o.Most.Format(st))
	}
	return "The wood %s by %s and leaves a gap of %s: that is enough.", append(args, o.Then.Format(st))
}

// Text is the sentence in English.
func (o Outcome) Text(st parts.Style) string {
	format, args := o.Say(st)
	return fmt.Sprintf(format, args...)
}
