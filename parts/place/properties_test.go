package place

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

func drawFaces(t *rapid.T, name string) []parts.Face {
	var faces []parts.Face
	for _, f := range parts.Faces {
		if rapid.IntRange(0, 3).Draw(t, name+" "+string(f)) == 0 {
			faces = append(faces, f)
		}
	}
	return faces
}

func drawStep(t *rapid.T) parts.Step {
	if rapid.IntRange(0, 5).Draw(t, "waits") == 0 {
		return parts.Step{Name: "wait", Clock: parts.Drying, Minutes: 1}
	}
	s := parts.Step{Name: "work", Station: "sand"}
	switch rapid.IntRange(0, 3).Draw(t, "coats") {
	case 0:
		s.Coat, s.Coats = "oil", drawFaces(t, "coats")
	case 1:
		s.Cuts, s.Bears, s.Joins = drawFaces(t, "cuts"), drawFaces(t, "bears"), drawFaces(t, "joins")
	default:
		s.Bears = drawFaces(t, "bears")
	}
	if rapid.IntRange(0, 7).Draw(t, "all over") == 0 {
		s.Bears = parts.Faces
	}
	if rapid.IntRange(0, 9).Draw(t, "makes") == 0 {
		s.Makes = rapid.SampledFrom([]parts.Dimension{parts.ToLength, parts.ToPattern}).Draw(t, "size")
	}
	s.Parts = rapid.IntRange(0, 9).Draw(t, "parts") == 0
	return s
}

// drawn is a line, its steps, and a label.
func drawn(t *rapid.T) (parts.Line, parts.Routing, Size2D) {
	size := func(name string, sizes ...parts.Length) parts.Size {
		return parts.Size{Length: rapid.SampledFrom(sizes).Draw(t, name) * parts.Millimetre, ToSuit: rapid.IntRange(0, 9).Draw(t, name+" to suit") == 0}
	}
	l := parts.Line{
		PerBlank: rapid.IntRange(0, 2).Draw(t, "per blank"), Into: int64(rapid.IntRange(0, 1).Draw(t, "into")),
		Length: size("length", 0, 15, 300), Width: size("width", 0, 20, 60), Thick: size("thickness", 0, 10, 19, 40),
	}
	r := parts.Routing{For: parts.Single, Steps: rapid.SliceOfN(rapid.Custom(drawStep), 0, 7).Draw(t, "steps")}
	if len(r.Steps) > 0 && rapid.IntRange(0, 3).Draw(t, "assembly") == 0 {
		r.For = parts.Assembly
		i := rapid.IntRange(0, len(r.Steps)-1).Draw(t, "glue-up")
		r.Steps[i] = parts.Step{Name: "glue up", Station: "glue", Binds: true, Glues: rapid.Bool().Draw(t, "glues")}
	}
	return l, r, rapid.SampledFrom([]Size2D{letter, roll, {W: 10 * parts.Millimetre, H: 10 * parts.Millimetre}, {}}).Draw(t, "label")
}

// shop tries every way to label a piece, slot by slot, by the rule as the
// package says it and not by its code.
type shop struct {
	line  parts.Line
	r     parts.Routing
	label Size2D
	slots []int // the steps of work, and the end
}

func aShop(l parts.Line, r parts.Routing, label Size2D) shop {
	b := shop{line: l, r: r, label: label}
	for i, s := range r.Steps {
		if s.Station != "" {
			b.slots = append(b.slots, i)
		}
	}
	b.slots = append(b.slots, len(r.Steps))
	return b
}

var onWood = map[Place]parts.Face{Back: parts.BackFace, Edges: parts.Edges, Ends: parts.Ends}

// harmed reports whether the step at a slot ends a label in a place.
func (b shop) harmed(p Place, slot int) bool {
	if slot == len(b.r.Steps) {
		return b.line.Into != 0 && (p == Edges || p == Ends)
	}
	s := b.r.Steps[slot]
	return slices.Contains(slices.Concat(s.Cuts, s.Bears, s.Joins, s.Coats), onWood[p])
}

// roomy reports whether a label has room in a place, written out side by side.
func (b shop) roomy(p Place) bool {
	dim := func(s parts.Size) (parts.Length, bool) { return s.Length, s.Length > 0 && !s.ToSuit }
	sides := map[Place][2]parts.Size{Back: {b.line.Length, b.line.Width}, Edges: {b.line.Length, b.line.Thick}, Ends: {b.line.Width, b.line.Thick}}[p]
	for _, turned := range [][2]parts.Length{{b.label.W, b.label.H}, {b.label.H, b.label.W}} {
		fits := true
		for i, need := range turned {
			have, known := dim(sides[i])
			fits = fits && (known && need <= have || !known && (p == Back || need == 0))
		}
		if fits {
			return true
		}
	}
	return false
}

// faces are the places on the wood where a label may be put on at a slot.
func (b shop) faces(slot int) []Place {
	var out []Place
	for p := range onWood {
		if b.roomy(p) && !b.harmed(p, slot) {
			out = append(out, p)
		}
	}
	return out
}

// itself reports whether the piece is one of its own at a slot.
func (b shop) itself(slot int) bool {
	return !slices.ContainsFunc(b.r.Steps[slot:], func(s parts.Step) bool {
		if b.r.For == parts.Assembly {
			return s.Binds || s.Glues
		}
		return s.Makes == parts.ToLength || s.Parts && b.line.PerBlank > 1
	})
}

// tagged reports whether a tag goes along at a slot.
func (b shop) tagged(slot int) bool {
	for _, earlier := range b.slots {
		if earlier > slot || !b.itself(earlier) {
			continue
		}
		if b.r.For == parts.Assembly && len(b.faces(earlier)) == 0 {
			return true
		}
		outlives := func(p Place) bool {
			return b.roomy(p) && !slices.ContainsFunc(b.slots, func(s int) bool { return s >= earlier && s < len(b.r.Steps) && b.harmed(p, s) })
		}
		if earlier < len(b.r.Steps) && len(b.r.Steps[earlier].Coats) > 0 && !outlives(Back) && !outlives(Edges) && !outlives(Ends) {
			return true
		}
	}
	return false
}

// put are the places where a mark may be read newly at a slot.
func (b shop) put(slot int) []Place {
	switch {
	case !b.itself(slot):
		return []Place{Ticket}
	case b.tagged(slot) && b.roomy(Back):
		return append(b.faces(slot), Tag)
	case b.tagged(slot):
		return append(b.faces(slot), Rack)
	case len(b.faces(slot)) == 0:
		return []Place{Ticket}
	}
	return b.faces(slot)
}

// fewest is the least number of labels from a slot on when the mark was read
// in a place before it, "" for nowhere.
func (b shop) fewest(i int, was Place) int {
	if i == len(b.slots) {
		return 0
	}
	best := 1 << 30
	_, wood := onWood[was]
	if was == Tag || wood && !b.harmed(was, b.slots[i-1]) {
		best = b.fewest(i+1, was)
	}
	for _, p := range b.put(b.slots[i]) {
		n := 0
		if p != Ticket && p != Rack {
			n = 1
		}
		best = min(best, n+b.fewest(i+1, p))
	}
	return best
}

func TestNoFewerLabelsWouldDo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, r, label := drawn(t)
		plan := Plan(l, r, label)
		require.Equal(t, aShop(l, r, label).fewest(0, ""), Labels(plan, len(r.Steps)), Text(plan))
	})
}

func TestEveryPlaceIsAllowed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, r, label := drawn(t)
		b, plan := aShop(l, r, label), Plan(l, r, label)
		was := -1
		for _, slot := range b.slots {
			s := Now(plan, slot)
			if s.From >= was {
				require.Contains(t, b.put(slot), s.Place, "put on before step %d: %s", slot, Text(plan))
			} else if _, wood := onWood[s.Place]; wood {
				require.False(t, b.harmed(s.Place, was), "step %d spoils the label: %s", was, Text(plan))
			}
			was = slot
		}
	})
}

func TestNoStretchIsOnAFaceThatItsStepsTouch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, r, label := drawn(t)
		for _, s := range Plan(l, r, label) {
			require.NotEqual(t, Place(parts.ShowFace), s.Place)
			for i := s.From + 1; i < s.To; i++ {
				require.False(t, s.Spoils(r.Steps[i]), "step %d: %+v", i, s)
			}
		}
	})
}

func TestStretchesCoverAllSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, r, label := drawn(t)
		plan, from := Plan(l, r, label), -1
		for _, s := range plan {
			require.Equal(t, from, s.From)
			require.Greater(t, s.To, s.From)
			require.Equal(t, s.Place != Ticket && s.Place != Rack, s.Prints)
			if s.To < len(r.Steps) {
				require.False(t, r.Steps[s.To].Wait(), "a wait ends nothing")
				require.Equal(t, r.Steps[s.To].Name, s.Name)
			}
			from = s.To
		}
		require.Equal(t, len(r.Steps), from)
	})
}

// Where the ticket and the tag serve at the same steps as before, a face more
// that is touched never saves a label.
func TestMoreTouchedFacesNeverSaveALabel(t *testing.T) {
	compared := 0
	rapid.Check(t, func(t *rapid.T) {
		l, r, label := drawn(t)
		was := Labels(Plan(l, r, label), len(r.Steps))
		for i := range r.Steps {
			for _, f := range parts.Faces {
				more := r
				more.Steps = slices.Clone(r.Steps)
				if more.Steps[i].Wait() {
					continue
				}
				more.Steps[i].Cuts = append(slices.Clone(r.Steps[i].Cuts), f)
				if sameHelp(aShop(l, r, label), aShop(l, more, label)) {
					compared++
					require.GreaterOrEqual(t, Labels(Plan(l, more, label), len(r.Steps)), was, "step %d touches the %s too", i, f)
				}
			}
		}
	})
	require.NotZero(t, compared)
}

// sameHelp reports whether the ticket, the tag and the rack serve at the same
// slots of two lists of steps.
func sameHelp(a, b shop) bool {
	return !slices.ContainsFunc(a.slots, func(slot int) bool {
		one, other := a.put(slot), b.put(slot)
		return slices.ContainsFunc([]Place{Ticket, Tag, Rack}, func(p Place) bool { return slices.Contains(one, p) != slices.Contains(other, p) })
	})
}

// Step by step every label falls due once. Who leaves scans out has no more.
func TestEveryLabelFallsDueOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, r, label := drawn(t)
		plan, slots := Plan(l, r, label), aShop(l, r, label).slots
		all, some, before, last := 0, 0, -1, -1
		for _, slot := range slots {
			if Due(plan, before, slot) {
				all++
				require.Equal(t, all, Labels(plan, slot))
			}
			before = slot
			if rapid.Bool().Draw(t, "scanned") {
				due := Due(plan, last, slot)
				require.Equal(t, Now(plan, slot).Prints && (last < 0 || Now(plan, last) != Now(plan, slot)), due)
				if last = slot; due {
					some++
				}
			}
		}
		require.Equal(t, Labels(plan, len(r.Steps)), all)
		require.LessOrEqual(t, some, all)
	})
}
