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
	return lend(v, kits)
}

// lend lets a line that is short use what an alike one has over: the same
// part under another name, as a left that serves as a right.
func lend(v parts.View, kits []Kit) []Kit {
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

// bind gives the events that make the parts on the bench this assembly's own.
// Equal parts are interchangeable until now, so any that are ready will do for
// what the scan does not name.
func bind(v parts.View, scan parts.Scan) ([]parts.Event, error) {
	kits, err := choose(v, Kits(v, scan), scan)
	if err != nil {
		return nil, err
	}
	var events []parts.Event
	var short []string
	for _, kit := range kits {
		have := kit.Ready
		if scan.Override {
			have = append(slices.Clip(have), kit.Away...)
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

// choose puts the parts that the scan names first in their kits. One that has
// no place in this assembly is refused with what would fit.
func choose(v parts.View, kits []Kit, scan parts.Scan) ([]Kit, error) {
	taken := make([]int, len(kits))
	for _, id := range slices.Compact(slices.Sorted(slices.Values(scan.Parts))) {
		i, s := slotFor(kits, taken, v, id, scan.Override)
		if i < 0 {
			return nil, wontFit(v, kits, taken, id)
		}
		kit := &kits[i]
		for j := range kits { // an alike line may have lent it
			kits[j].Ready = slices.DeleteFunc(kits[j].Ready, func(o parts.State) bool { return o.Part == id })
			kits[j].Away = slices.DeleteFunc(kits[j].Away, func(o parts.State) bool { return o.Part == id })
		}
		kit.Ready = slices.Insert(kit.Ready, taken[i], s)
		taken[i]++
	}
	return kits, nil
}

// slotFor finds the kit that has a free place for a part, -1 for none. A part
// that is not ready has one only when a person overrules that.
func slotFor(kits []Kit, taken []int, v parts.View, id parts.ID, override bool) (int, parts.State) {
	at := slices.IndexFunc(v.Group, func(s parts.State) bool { return s.Part == id })
	if at < 0 {
		return -1, parts.State{}
	}
	s := v.Group[at]
	for i, kit := range kits {
		free := taken[i] < kit.Need && v.Lines[s.Line].Alike(kit.Line)
		here := slices.ContainsFunc(kits, func(k Kit) bool { return has(k.Ready, id) || override && has(k.Away, id) })
		if free && here {
			return i, s
		}
	}
	return -1, s
}

func has(states []parts.State, id parts.ID) bool {
	return slices.ContainsFunc(states, func(s parts.State) bool { return s.Part == id })
}

// wontFit says why a part has no place in the assembly, and what would fit.
func wontFit(v parts.View, kits []Kit, taken []int, id parts.ID) error {
	var would []string
	for i, kit := range kits {
		if need := kit.Need - taken[i]; need > 0 {
			would = append(would, fmt.Sprintf("%d %s%s", need, hand(kit.Line), examples(v, kit.Ready[taken[i]:])))
		}
	}
	say := fmt.Sprintf("%s is none of the parts that %s takes", id, v.Name(v.Subject))
	if at := slices.IndexFunc(v.Group, func(s parts.State) bool { return s.Part == id }); at >= 0 {
		s := v.Group[at]
		line := v.Lines[s.Line]
		say = fmt.Sprintf("%s (%s) has no place in %s any more", v.Name(s), hand(line), v.Name(v.Subject))
		if !isReadyNow(s, v) {
			say = fmt.Sprintf("%s is not ready to be fitted", v.Name(s))
		}
	}
	p := parts.Problemf(parts.Refused, CodeWontFit, "%s.", say).Fact("part", id)
	if len(would) == 0 {
		return p.Next("Everything it needs is on the bench.")
	}
	return p.Next("What would fit: %s.", strings.Join(would, "; ")).Fact("would_fit", would)
}

func isReadyNow(s parts.State, v parts.View) bool { return isReady(s, parts.Scan{At: v.Now}) }

// hand is a line's name with the hand it has.
func hand(l parts.Line) string {
	if l.Hand == "" {
		return l.Name
	}
	return string(l.Hand) + " " + l.Name
}

// examples names a few parts.
func examples(v parts.View, ready []parts.State) string {
	var names []string
	for _, s := range ready[:min(3, len(ready))] {
		names = append(names, v.Name(s)+" "+string(s.Part))
	}
	if len(names) == 0 {
		return " (none is ready)"
	}
	return ": " + strings.Join(names, ", ")
}

// belong checks parts against an assembly that was dry-fitted: it takes these
// and no others.
func belong(v parts.View, ids []parts.ID) error {
	for _, id := range ids {
		if slices.Contains(v.Subject.Parts, id) {
			continue
		}
		var own []string
		for _, s := range v.Group {
			if s.In == v.Subject.Part {
				own = append(own, v.Name(s)+" "+string(s.Part))
			}
		}
		return parts.Problemf(parts.Refused, CodeWontFit, "%s is not one of the parts that %s was dry-fitted with.", id, v.Name(v.Subject)).
			Next("Its own parts are %s.", strings.Join(own, ", ")).Fact("part", id).Fact("would_fit", own)
	}
	return nil
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
