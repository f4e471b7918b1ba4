package routing

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

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
		kit := Kit{Line: line, Need: line.Each}
		for _, s := range v.Group {
			switch {
			case s.Line != line.ID || s.Kind == parts.Ticket || s.In != "" || s.Scrapped || s.Held != "":
			case isReady(s, scan):
				kit.Ready = append(kit.Ready, s)
			default:
				kit.Away = append(kit.Away, s)
			}
		}
		slices.SortStableFunc(kit.Ready, func(a, b parts.State) int {
			return cmp.Or(cmp.Compare(b2i(a.Spare), b2i(b.Spare)), cmp.Compare(a.Number, b.Number))
		})
		slices.SortStableFunc(kit.Away, func(a, b parts.State) int { return cmp.Compare(b.Next, a.Next) })
		kits = append(kits, kit)
	}
	return kits
}

func isReady(s parts.State, scan parts.Scan) bool {
	_, wet := s.Waiting(scan.At)
	return s.Finished && !s.Mending() && !wet
}

// bind gives the events that make the parts on the bench this assembly's own.
// Equal parts are interchangeable until now, so any that are ready will do.
func bind(v parts.View, scan parts.Scan) ([]parts.Event, error) {
	var events []parts.Event
	var short []string
	for _, kit := range Kits(v, scan) {
		have := kit.Ready
		if scan.Override {
			have = append(have, kit.Away...)
		}
		if len(have) < kit.Need {
			short = append(short, shortage(v, kit, len(have)))
			continue
		}
		for _, s := range have[:kit.Need] {
			events = append(events, parts.Event{
				Part: s.Part, Kind: parts.Fitted, Station: scan.Station, By: scan.By, At: later(scan.At, s.LastAt), Step: -1,
				Detail: parts.Detail{Other: v.Subject.Part, Override: overruled(s, scan)},
			})
		}
	}
	if len(short) > 0 {
		return nil, parts.Problemf(parts.Refused, CodeMissing, "%s is not complete: %s.", v.Name(v.Subject), strings.Join(short, "; ")).
			Next("Finish those first. If they all lie on the bench, say so.").Fact("missing", short)
	}
	return events, nil
}

// overruled is why an unfinished part was bound all the same.
func overruled(s parts.State, scan parts.Scan) string {
	if isReady(s, scan) {
		return ""
	}
	return overrule(scan)
}

// shortage says what is missing of a line and where the nearest ones are.
func shortage(v parts.View, kit Kit, have int) string {
	say := fmt.Sprintf("%d of %d %s ready", have, kit.Need, kit.Line.Name)
	if len(kit.Away) == 0 {
		return say + ", and no other is on its way"
	}
	s := kit.Away[0]
	next, ok := parts.NextStep(v.Routing(s), s)
	if !ok {
		return say
	}
	if w, runs := s.Waiting(v.Now); runs {
		return say + fmt.Sprintf("; %s is %s", v.Name(s), w.Clock)
	}
	return say + fmt.Sprintf("; %s needs %q next", v.Name(s), next.Step.Name)
}
