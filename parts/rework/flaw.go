package rework

import (
	"slices"
	"strings"

	"benchtally/parts"
)

// Flaw is what a person says about a defect.
type Flaw struct {
	Defect parts.Defect
	Spot   string // which end, which hole, which side
	Note   string
	Coats  []int // numbers of the coats to be repeated, see parts.StepNumber
	Side   []parts.Face
	Photo  string
	// Override says that it is repaired all the same, over the limit.
	Override bool
}

// Plug records that a hole was off and has a plug glued in. The plug sets, is
// trimmed flush, and the hole is bored again; then the part goes on from where
// it was.
func Plug(v parts.View, f Flaw, by By) ([]parts.Event, error) {
	s := v.Subject
	if err := standing(v, s); err != nil {
		return nil, err
	}
	if s.Mending() {
		return nil, parts.Problemf(parts.Refused, "plugged-already", "%s has a plug in it already.", v.Name(s)).
			Next("Bore it again first.")
	}
	return Mend(v, f, by)
}

// Mend begins the repair of a defect: its steps come before the next one. What
// a repair does over (the boring, the named coats) is copied into the event,
// so that it stays what it was when the steps are edited.
func Mend(v parts.View, f Flaw, by By) ([]parts.Event, error) {
	s := v.Subject
	if err := mendable(v, f, by); err != nil {
		return nil, err
	}
	repair, at, err := repairOf(v, f)
	if err != nil {
		return nil, err
	}
	kind := parts.Flawed
	switch {
	case !s.Delivered.IsZero():
		kind = parts.Returned
	case f.Defect.Again == parts.BoreAgain:
		kind = parts.Plugged
	}
	d := parts.Detail{Repair: repair, Note: f.Note, Defect: f.Defect.Key, Called: f.Defect.Name, Spot: f.Spot, Photo: f.Photo,
		Waits: append(running(s, by), waitsFrom(repair, len(s.Repair), by)...)}
	if f.Override && unwise(v, f) != nil {
		d.Override = "repaired all the same"
	}
	e := by.event(s.Part, kind, d)
	e.Step = at
	return []parts.Event{e}, nil
}

// mendable says why the defect cannot be repaired now.
func mendable(v parts.View, f Flaw, by By) error {
	s := v.Subject
	if err := standing(v, s); err != nil {
		return err
	}
	if p := v.Late(s, by.At); p != nil {
		return p
	}
	if err := checkReason(f.Note, !s.Delivered.IsZero()); err != nil {
		return err
	}
	if err := checkReason(f.Spot, false); err != nil {
		return err
	}
	if s.Mending() {
		return parts.Problemf(parts.Refused, "under-repair", "%s is being repaired already.", v.Name(s)).Next("Finish that repair first.")
	}
	if p := unwise(v, f); p != nil && !f.Override {
		return p
	}
	return nil
}

// unwise says why something else than a repair is better; a person may judge
// otherwise.
func unwise(v parts.View, f Flaw) *parts.Problem {
	d, n := f.Defect, times(v.Subject, f)
	switch {
	case d.Remake:
		return parts.Problemf(parts.Refused, "remake-better", "%s: nothing repairs %q.", v.Name(v.Subject), strings.ToLower(d.Name)).
			Next("Use a spare or remake it.")
	case d.Limit > 0 && n >= d.Limit:
		return parts.Problemf(parts.Refused, "limit", "%s was repaired for %q there %d times already.", v.Name(v.Subject), strings.ToLower(d.Name), n).
			Next("A spare or a remake is better. If you have looked at it, repair it all the same.").Fact("limit", d.Limit)
	}
	return nil
}

// times counts how often the defect was repaired at the same spot; where none
// is named it counts all of them.
func times(s parts.State, f Flaw) int {
	n := 0
	for _, had := range s.Flaws {
		if had.Defect == f.Defect.Key && (f.Spot == "" || had.Spot == "" || strings.EqualFold(had.Spot, f.Spot)) {
			n++
		}
	}
	return n
}

// repairOf gives the steps of the repair and the index of the step at which
// the defect came about, -1 for none.
func repairOf(v parts.View, f Flaw) (repair []parts.Step, at int, err error) {
	s := v.Subject
	steps := v.Routing(s).Steps
	repair, at = levelled(f.Defect.Steps, f.Spot), max(0, min(s.Next, len(steps)))-1
	for at >= 0 && steps[at].Wait() {
		at--
	}
	switch f.Defect.Again {
	case parts.BoreAgain:
		if at = lastBored(v.Routing(s), s); at < 0 {
			return nil, 0, parts.Problemf(parts.Refused, "not-bored", "%s has no hole to plug: it was not bored.", v.Name(s)).
				Next("Hold it and write down what is wrong, or remake it.")
		}
		bore := again(steps[at])
		bore.Name = "trim flush, " + bore.Name
		repair = append(repair, bore)
	case parts.CoatsAgain:
		coats, err := coatsAgain(v, f)
		if err != nil {
			return nil, 0, err
		}
		repair = append(repair, coats...)
	case parts.LastAgain:
		if at >= 0 {
			repair = append(repair, again(steps[at]))
		}
	}
	if f.Defect.Again != parts.CoatsAgain && len(f.Coats) > 0 { // sanded through the coats on the way
		coats, err := coatsAgain(v, f)
		if err != nil {
			return nil, 0, err
		}
		repair = append(repair, coats...)
	}
	if !s.Delivered.IsZero() && at >= 0 {
		if last := lastWork(steps); last >= 0 && (f.Defect.Again != parts.LastAgain || last != at) {
			repair = append(repair, again(steps[last]))
		}
	}
	return repair, at, nil
}

// coatsAgain are the coats that a person names, each with the waits after it.
// None may be named: the defect is then sanded away and the next coat covers it.
func coatsAgain(v parts.View, f Flaw) ([]parts.Step, error) {
	s := v.Subject
	steps := v.Routing(s).Steps
	if i := slices.IndexFunc(f.Side, func(face parts.Face) bool { return !slices.Contains(parts.Faces, face) }); i >= 0 {
		return nil, parts.Problemf(parts.Invalid, "side-unknown", "A piece has no side %q.", string(f.Side[i])).
			Next("Choose show face, back, edges or ends.")
	}
	var out []parts.Step
	numbers := slices.Clone(f.Coats)
	slices.Sort(numbers)
	for _, n := range slices.Compact(numbers) {
		i := n - 1
		if i < 0 || i >= min(s.Next, len(steps)) || steps[i].Coat == "" {
			return nil, parts.Problemf(parts.Invalid, "coat-unknown", "%s has no coat %d that could be repeated.", v.Name(s), n).
				Next("Choose from the coats it has had.")
		}
		coat := again(steps[i])
		if len(f.Side) > 0 {
			coat.Coats = f.Side
			coat.Name += ", " + sideWords(f.Side)
		}
		out = append(out, coat)
		for i++; i < len(steps) && steps[i].Wait(); i++ {
			out = append(out, steps[i])
		}
	}
	return out, nil
}

// sideWords names the faces that a coat is repeated on.
func sideWords(side []parts.Face) string {
	var names []string
	for _, f := range side {
		names = append(names, string(f))
	}
	return strings.Join(names, " and ")
}

// again is a step done over. It has to be recorded: nobody would guess it.
func again(s parts.Step) parts.Step {
	s.Name, s.Record, s.Binds, s.Glues, s.Parts = s.Name+" again", true, false, false, false
	return s
}

// lastWork is the index of the last step that is no wait, -1 for none.
func lastWork(steps []parts.Step) int {
	for i := len(steps) - 1; i >= 0; i-- {
		if !steps[i].Wait() {
			return i
		}
	}
	return -1
}

// running gives the clocks of s that still run: a plug dries no coat. A recoat
// window stays too, whatever is done in between.
func running(s parts.State, by By) []parts.Wait {
	var waits []parts.Wait
	for _, w := range s.Waits {
		if by.At.Before(w.Ends()) || !w.Mends && !w.Closes().IsZero() {
			waits = append(waits, w)
		}
	}
	return waits
}

// waitsFrom starts the clocks at the head of a repair that begins at index base.
func waitsFrom(repair []parts.Step, base int, by By) []parts.Wait {
	var waits []parts.Wait
	from := by.At
	for i, s := range repair {
		if !s.Wait() {
			break
		}
		until := from.Add(s.Lasts())
		waits = append(waits, parts.Wait{Clock: s.Clock, Step: base + i, Mends: true, From: from, Until: until})
		from = until
	}
	return waits
}

// lastBored is the last step behind s that makes holes, -1 for none.
func lastBored(r parts.Routing, s parts.State) int {
	for i := min(s.Next, len(r.Steps)) - 1; i >= 0; i-- {
		if r.Steps[i].Bores {
			return i
		}
	}
	return -1
}
