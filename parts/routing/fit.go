package routing

import (
	"fmt"
	"slices"
	"strings"

	"benchtally/parts"
)

// bind gives the events that make the parts on the bench this assembly's own.
// Equal parts are interchangeable until now, so any that are ready will do for
// what the scan does not name.
func bind(v parts.View, scan parts.Scan) ([]parts.Event, error) {
	kits, err := choose(v, Kits(v, scan), scan)
	if err != nil {
		return nil, err
	}
	if scan.Override { // they lie on the bench, a person says
		for i := range kits {
			for _, s := range kits[i].Away {
				if believed(s) {
					kits[i].Ready = append(slices.Clip(kits[i].Ready), s)
				}
			}
			kits[i].Away = slices.DeleteFunc(slices.Clone(kits[i].Away), believed)
		}
	}
	var events []parts.Event
	var short []string
	for _, kit := range lend(kits) { // again: a named part may have taken what an alike line counted on
		if kit.Short() > 0 {
			short = append(short, shortage(v, kit))
			continue
		}
		for _, s := range kit.Ready[:kit.Need] {
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

// believed reports whether a person's word is enough to fit a part that is not
// ready in the books and that nobody named. For one with a plug to be bored
// again, or made with a setup that was at fault, it is not.
func believed(s parts.State) bool { return !s.Mending() && s.Doubt == "" }

// choose puts the parts that the scan names first in their kits. One that has
// no place in this assembly is refused with what would fit.
func choose(v parts.View, kits []Kit, scan parts.Scan) ([]Kit, error) {
	taken := make([]int, len(kits))
	var misfit []parts.ID
	for _, id := range slices.Compact(slices.Sorted(slices.Values(scan.Parts))) {
		i, s := slotFor(v, kits, taken, id, scan.Override)
		if i < 0 {
			misfit = append(misfit, id) // the others are looked at first: then it is known what is missing
			continue
		}
		same := func(o parts.State) bool { return o.Part == id }
		for j := range kits { // an alike line may have lent it
			kits[j].Ready = slices.DeleteFunc(slices.Clone(kits[j].Ready), same)
			kits[j].Away = slices.DeleteFunc(slices.Clone(kits[j].Away), same)
		}
		kits[i].Ready = slices.Insert(kits[i].Ready, taken[i], s)
		taken[i]++
	}
	if len(misfit) > 0 {
		return nil, wontFit(v, kits, taken, misfit[0], scan)
	}
	return kits, nil
}

// slotFor finds the kit that has a free place for a part, that of its own line
// before an alike one, and -1 for none. A part that is not ready has a place
// only when a person overrules that.
func slotFor(v parts.View, kits []Kit, taken []int, id parts.ID, override bool) (int, parts.State) {
	s, known := inGroup(v, id)
	here := slices.ContainsFunc(kits, func(k Kit) bool { return has(k.Ready, id) || override && !s.Mending() && has(k.Away, id) })
	if !known || !here {
		return -1, s
	}
	at := -1
	for i, kit := range kits {
		switch {
		case taken[i] >= kit.Need:
		case s.Line == kit.Line.ID:
			return i, s
		case at < 0 && v.Lines[s.Line].Alike(kit.Line):
			at = i
		}
	}
	return at, s
}

func has(states []parts.State, id parts.ID) bool {
	return slices.ContainsFunc(states, func(s parts.State) bool { return s.Part == id })
}

// inGroup finds a part among those that could go into the assembly.
func inGroup(v parts.View, id parts.ID) (parts.State, bool) {
	at := slices.IndexFunc(v.Group, func(s parts.State) bool { return s.Part == id })
	if at < 0 {
		return parts.State{}, false
	}
	return v.Group[at], true
}

// wontFit says why a part has no place in the assembly, and what would fit.
func wontFit(v parts.View, kits []Kit, taken []int, id parts.ID, scan parts.Scan) error {
	var would []string
	for i, kit := range kits {
		if need := kit.Need - taken[i]; need > 0 {
			would = append(would, fmt.Sprintf("%d %s%s", need, hand(kit.Line), examples(v, kit.Ready[taken[i]:])))
		}
	}
	why, early := whyNot(v, kits, id, scan)
	p := parts.Problemf(parts.Refused, CodeWontFit, "%s.", why).Fact("part", id)
	switch {
	case len(would) == 0:
		return p.Next("Everything it needs is on the bench.")
	case early:
		p.Next("What would fit: %s. If it is ready all the same, say so.", strings.Join(would, "; "))
	default:
		p.Next("What would fit: %s.", strings.Join(would, "; "))
	}
	return p.Fact("would_fit", would)
}

// whyNot says why a part has no place in the assembly; early reports that it
// only is not ready.
func whyNot(v parts.View, kits []Kit, id parts.ID, scan parts.Scan) (why string, early bool) {
	s, known := inGroup(v, id)
	name, assembly := v.Name(s), v.Name(v.Subject)
	wanted := slices.ContainsFunc(kits, func(k Kit) bool { return v.Lines[s.Line].Alike(k.Line) })
	switch {
	case !known:
		return fmt.Sprintf("%s is none of the parts that %s takes", id, assembly), false
	case !wanted:
		return fmt.Sprintf("%s is none of the parts that %s takes", name, assembly), false
	case s.Scrapped:
		return name + " was scrapped", false
	case s.Held != "":
		return fmt.Sprintf("%s is held: %s", name, s.Held), false
	case s.In != "":
		return fmt.Sprintf("%s is part of %s", name, s.In), false
	case s.Doubt != "":
		return fmt.Sprintf("%s has to be looked at first: %s", name, s.Doubt), true
	case !isReady(s, scan):
		return name + " is not ready to be fitted", true
	}
	return fmt.Sprintf("%s (%s) has no place in %s any more", name, hand(v.Lines[s.Line]), assembly), false
}

// hand is a line's name with the hand it has.
func hand(l parts.Line) string {
	if l.Hand == "" {
		return l.Name
	}
	return string(l.Hand) + " " + l.Name
}

// examples names a few parts.
func examples(v parts.View, ready []parts.State) string {
	names := withMarks(v, ready[:min(3, len(ready))])
	if len(names) == 0 {
		return " (none is ready)"
	}
	return ": " + strings.Join(names, ", ")
}

// withMarks gives pieces as people find them: the name and the mark.
func withMarks(v parts.View, states []parts.State) []string {
	var names []string
	for _, s := range states {
		names = append(names, v.Name(s)+" "+string(s.Part))
	}
	return names
}

// belong checks parts against an assembly that was dry-fitted: it takes these
// and no others.
func belong(v parts.View, ids []parts.ID) error {
	at := slices.IndexFunc(ids, func(id parts.ID) bool { return !slices.Contains(v.Subject.Parts, id) })
	if at < 0 {
		return nil
	}
	if len(v.Subject.Parts) == 0 {
		return parts.Problemf(parts.Refused, CodeWontFit, "%s is not put together of parts at this step.", v.Name(v.Subject)).
			Next("Leave the parts out.").Fact("part", ids[at])
	}
	own := withMarks(v, slices.DeleteFunc(slices.Clone(v.Group), func(s parts.State) bool { return s.In != v.Subject.Part }))
	return parts.Problemf(parts.Refused, CodeWontFit, "%s is not one of the parts that %s was dry-fitted with.", ids[at], v.Name(v.Subject)).
		Next("Its own parts are %s.", strings.Join(own, ", ")).Fact("part", ids[at]).Fact("would_fit", own)
}

// overruled is why an unfinished part was bound all the same.
func overruled(s parts.State, scan parts.Scan) string {
	if isReady(s, scan) {
		return ""
	}
	return overrule(scan)
}
