package routing

import (
	"slices"

	"benchtally/parts"
)

// CodeNotClamped answers that the clamps are off, for something that has none
// on.
const CodeNotClamped = "not-in-clamps"

// InClamps is the wait in clamps that s is in, and whether there is one. It
// lasts until somebody says that the clamps are off or the next step is done,
// also when its time is over.
func InClamps(s parts.State) (parts.Wait, bool) {
	i := slices.IndexFunc(s.Waits, func(w parts.Wait) bool { return w.Clock == parts.Clamps })
	if i < 0 || s.Kind.Counts() || stopped(parts.View{}, s) != nil {
		return parts.Wait{}, false
	}
	return s.Waits[i], true
}

// ClampsOff ends the wait in clamps of a part or an assembly; what else has to
// be waited for goes on. Nobody has to say it: the next step ends the wait too.
func ClampsOff(v parts.View, scan parts.Scan) ([]parts.Event, error) {
	v = sound(v)
	s := v.Subject
	if s.Kind.Counts() {
		return nil, parts.Problemf(parts.Refused, CodeOneByOne, "%s stands for many pieces, and each has its own clamps.", v.Name(s)).
			Next("Scan the label of the one that came out of them.")
	}
	if err := stopped(v, s); err != nil {
		return nil, err
	}
	w, clamped := InClamps(s)
	if !clamped {
		return nil, unclamped(v, s)
	}
	if err := late(v, s, scan); err != nil {
		return nil, err
	}
	e := parts.Event{Part: s.Part, Kind: parts.Did, Station: scan.Station, By: scan.By, At: scan.At, Step: w.Step}
	e.Detail = parts.Detail{Next: s.Next, Finished: s.Finished, Waits: besides(s.Waits, w), Relied: s.Relied()}
	if w.Mends {
		e.Kind, e.Detail.Next, e.Detail.Finished = parts.Mended, s.Mend, false
	}
	if scan.At.Before(w.Ends()) {
		if !scan.Override {
			only := s
			only.Waits = []parts.Wait{w} // what sets on goes on setting
			return nil, waiting(v, only, "", w, scan.At)
		}
		e.Detail.Override = overrule(scan)
	}
	return []parts.Event{e}, nil
}

// unclamped answers for what is in no clamps: for a repeat that is no error.
func unclamped(v parts.View, s parts.State) error {
	sort := parts.Refused
	for i, st := range v.Routing(s).Steps[:min(len(s.Past), len(v.Routing(s).Steps))] {
		if st.Clock == parts.Clamps && s.Past[i].How != parts.WasSkipped {
			sort = parts.Already
		}
	}
	mended := s.Repair[:min(s.Mend, len(s.Repair))]
	if slices.ContainsFunc(mended, func(st parts.Step) bool { return st.Clock == parts.Clamps }) {
		sort = parts.Already
	}
	p := parts.Problemf(sort, CodeNotClamped, "%s is not in clamps.", v.Name(s))
	if sort == parts.Already {
		return p.Next("Nothing to do.")
	}
	return p.Next("Record its glue-up first, or scan the label of another.")
}

// besides are the waits without one of them.
func besides(waits []parts.Wait, w parts.Wait) []parts.Wait {
	return slices.DeleteFunc(slices.Clone(waits), func(o parts.Wait) bool { return o.Step == w.Step && o.Mends == w.Mends })
}
