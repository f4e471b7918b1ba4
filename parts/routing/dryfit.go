package routing

import (
	"cmp"
	"fmt"
	"slices"

	"benchtally/parts"
)

// Kit is what a dry fit finds of one line: what it needs, what is ready to be
// fitted and what is still on its way.
type Kit struct {
	Line  parts.Line
	Need  int
	Ready []parts.State // finished, waited out and free; spares last
	Away  []parts.State // free but not there yet, the furthest along first
}

// Short is how many are missing.
func (k Kit) Short() int { return max(0, k.Need-len(k.Ready)) }

// Kits is the kit check of an assembly: one Kit for each line it takes.
func Kits(v parts.View, scan parts.Scan) []Kit {
	var kits []Kit
	for _, line := range v.Needs {
		kit := Kit{Line: line, Need: max(0, line.Each)}
		for _, s := range v.Group {
			switch {
			case s.Line != line.ID || s.Kind.Counts() || s.In != "" || s.Scrapped || s.Held != "":
			case isReady(s, scan):
				kit.Ready = append(kit.Ready, s)
			default:
				kit.Away = append(kit.Away, s)
			}
		}
		slices.SortStableFunc(kit.Ready, func(a, b parts.State) int {
			return cmp.Or(cmp.Compare(b2i(a.Test), b2i(b.Test)), cmp.Compare(b2i(a.Spare), b2i(b.Spare)), cmp.Compare(a.Number, b.Number))
		})
		slices.SortStableFunc(kit.Away, func(a, b parts.State) int { return cmp.Compare(b.Next, a.Next) })
		kits = append(kits, kit)
	}
	return lend(kits)
}

// lend lets a line that is short use what an alike one has over: the same part
// under another name.
func lend(kits []Kit) []Kit {
	for i := range kits {
		for j := range kits {
			if i == j || !kits[i].Line.Alike(kits[j].Line) {
				continue
			}
			n := min(kits[i].Short(), max(0, len(kits[j].Ready)-kits[j].Need))
			from := len(kits[j].Ready) - n
			kits[i].Ready = append(slices.Clip(kits[i].Ready), kits[j].Ready[from:]...)
			kits[j].Ready = kits[j].Ready[:from]
		}
	}
	return kits
}

func isReady(s parts.State, scan parts.Scan) bool {
	_, wet := s.Waiting(scan.At)
	return s.Finished && !s.Mending() && !wet && s.Doubt == ""
}

// shortage says what is missing of a line and where the nearest ones are.
func shortage(v parts.View, kit Kit) string {
	say := fmt.Sprintf("%d of %d %s ready", len(kit.Ready), kit.Need, kit.Line.Name)
	if len(kit.Away) == 0 {
		return say + ", and no other is on its way"
	}
	s := kit.Away[0]
	if doubted := slices.IndexFunc(kit.Away, func(o parts.State) bool { return o.Doubt != "" }); doubted >= 0 {
		s = kit.Away[doubted]
		return say + fmt.Sprintf("; %s %s has to be looked at first", v.Name(s), s.Part)
	}
	next, ok := parts.NextStep(v.Routing(s), s)
	if !ok {
		return say
	}
	if w, runs := s.Waiting(v.Now); runs {
		return say + fmt.Sprintf("; %s is %s", v.Name(s), w.Clock)
	}
	return say + fmt.Sprintf("; %s needs %q next", v.Name(s), next.Step.Name)
}
