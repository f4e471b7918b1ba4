package routing

import (
	"slices"
	"strings"

	"benchtally/parts"
)

// stopped says why s goes nowhere at all.
func stopped(v parts.View, s parts.State) error {
	name := v.Name(s)
	switch {
	case s.Scrapped && s.ReplacedBy != "":
		return parts.Problemf(parts.Refused, CodeScrapped, "%s was scrapped. %s takes its place.", name, s.ReplacedBy).
			Next("Scan %s instead, and take this label off.", s.ReplacedBy).Fact("replaced_by", s.ReplacedBy)
	case s.Scrapped:
		return parts.Problemf(parts.Refused, CodeScrapped, "%s was scrapped.", name).Next("Take this label off.")
	case s.Held != "":
		return parts.Problemf(parts.Refused, CodeHeld, "%s is held: %s.", name, s.Held).
			Next("Release it on its page when that is settled.").Fact("reason", s.Held)
	case s.In != "":
		return parts.Problemf(parts.Refused, CodeInAssembly, "%s is part of an assembly now.", name).
			Next("Scan the assembly %s instead.", s.In).Fact("assembly", s.In)
	}
	return nil
}

// late parks a scan that is from before what was recorded last.
func late(v parts.View, s parts.State, scan parts.Scan) error {
	if p := v.Late(s, scan.At); p != nil {
		return p
	}
	return nil
}

// doubted stops a piece that was made with a setup at fault before a step
// that cannot be put right, until a person has looked at it.
func (m *move) doubted(v parts.View, s parts.State, scan parts.Scan) error {
	if s.Doubt == "" || !m.step.Record && !m.step.Binds {
		return nil
	}
	if scan.Override {
		m.over = overrule(scan)
		return nil
	}
	return parts.Problemf(parts.Refused, CodeDoubt, "%s has to be looked at first: %s.", v.Name(s), s.Doubt).
		Next("Check it. If it is good, say so on its page.")
}

// windowMissed refuses a coat after the last moment for it: what follows then
// is for the product's data sheet to say.
func (m *move) windowMissed(v parts.View, s parts.State, scan parts.Scan) error {
	if m.step.Coat == "" && (m.repair || !m.step.Record) {
		return nil
	}
	for _, w := range s.Waits {
		if w.Closes().IsZero() || !scan.At.After(w.Closes()) || m.repair && !w.Mends {
			continue // what is sanded back waits for no window of before
		}
		if scan.Override {
			m.over = overrule(scan)
			return nil
		}
		p := parts.Problemf(parts.Refused, CodeWindow, "%s: the next coat had to be on by %s.", v.Name(s), w.Closes()).
			Next("Look at the product's data sheet for what to do, do it, and say so.").Fact("latest", w.Closes())
		if missed := m.missed(s, w); missed != "" {
			p.Next("The data sheet says: %s. Do that, and say so.", missed)
		}
		return p
	}
	return nil
}

// missed is what the data sheet says of a wait that lasted too long.
func (m *move) missed(s parts.State, w parts.Wait) string {
	if w.Dry != nil {
		return strings.TrimRight(w.Dry.Missed, ".")
	}
	steps := m.routing.Steps
	if w.Mends {
		steps = s.Repair
	}
	if w.Step < 0 || w.Step >= len(steps) {
		return ""
	}
	return steps[w.Step].Missed
}

// glues refuses a glue-up onto a face that was finished before: the glue
// would hold on to the coat and not on to the wood. bound are the parts that the
// same tap fits, for a glue-up that says its dry fit too.
func (m *move) glues(v parts.View, bound []parts.Event, scan parts.Scan) error {
	if m.repair || !m.step.Glues || len(m.step.Joins) == 0 {
		return nil
	}
	for i, st := range m.routing.Steps[:m.index] {
		leftOut := i < len(v.Subject.Past) && v.Subject.Past[i].How == parts.WasSkipped
		if st.Scuff && !leftOut {
			return nil
		}
	}
	for _, s := range v.Group {
		fits := slices.ContainsFunc(bound, func(e parts.Event) bool { return e.Part == s.Part })
		face, coated := coatedFace(v.Routing(s), s, m.step.Joins)
		if !coated || !fits && s.In != v.Subject.Part {
			continue
		}
		if scan.Override {
			m.over = overrule(scan)
			return nil
		}
		return parts.Problemf(parts.Refused, CodeScuff, "%s is finished on its %s, and glue does not hold on that.", v.Name(s), string(face)).
			Next("Scuff the glue faces down to the wood, and say so.").Fact("part", s.Part)
	}
	return nil
}

// coatedFace finds a face of those that carries a coat which no later step
// has roughened.
func coatedFace(r parts.Routing, s parts.State, faces []parts.Face) (parts.Face, bool) {
	for i := min(len(s.Past), len(r.Steps)) - 1; i >= 0; i-- {
		if s.Past[i].How == parts.WasSkipped {
			continue
		}
		if r.Steps[i].Scuff {
			return "", false
		}
		for _, f := range r.Steps[i].Coats {
			if slices.Contains(faces, f) {
				return f, true
			}
		}
	}
	return "", false
}

// mustRecord refuses when a step of between may not be taken for granted.
func (m *move) mustRecord(v parts.View, s parts.State, between []parts.Step, scan parts.Scan) error {
	i := slices.IndexFunc(between, func(st parts.Step) bool { return st.Record })
	if i < 0 {
		return nil
	}
	if scan.Override {
		m.over = overrule(scan)
		return nil
	}
	missed := between[i]
	return parts.Problemf(parts.Refused, CodeMustRecord, "%s: %s comes first, and nobody recorded it.", v.Name(s), missed.Name).
		Next("Record that step first, or say that it was done.").
		Fact("step", missed.Name).Fact("station", missed.Station)
}

// repairFirst refuses to go on with a piece whose repair is not finished:
// nobody would guess that a plug was trimmed or a drip sanded away.
func (m *move) repairFirst(v parts.View, s parts.State, scan parts.Scan) error {
	between := slices.Clone(s.Repair[s.Mend:])
	for i := range between {
		between[i].Record = !between[i].Wait()
	}
	return m.mustRecord(v, s, between, scan)
}

func overrule(scan parts.Scan) string {
	if scan.Reason == "" {
		return "a person said so"
	}
	return scan.Reason
}
