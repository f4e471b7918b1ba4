package routing

import "benchtally/parts"

// confirm turns a step that was only taken for granted into a recorded one:
// its own scan arrives after all, late from a phone that had no network, or
// because a person says by name that it was done. Nothing moves by that.
func confirm(v parts.View, s parts.State, scan parts.Scan) ([]parts.Event, bool) {
	if s.Scrapped {
		return nil, false
	}
	index, repair := parts.StepIndex(scan.Step)
	if scan.Step == 0 {
		if !scan.At.Before(s.LastAt) {
			return nil, false // it means the next step at the station
		}
		index, repair = unsaidAt(v.Routing(s), s, scan.Station), false
	}
	if repair || index < 0 || index >= min(len(s.Past), len(v.Routing(s).Steps)) || s.Past[index].How != parts.WasFilled {
		return nil, false
	}
	step := v.Routing(s).Steps[index]
	if step.Wait() || scan.Station != "" && step.Station != scan.Station {
		return nil, false
	}
	return []parts.Event{{Part: s.Part, Kind: parts.Confirmed, Station: step.Station, By: scan.By, At: scan.At, Step: index}}, true
}

// unsaidAt is the last step behind s at a station that nobody recorded, -1
// for none.
func unsaidAt(r parts.Routing, s parts.State, at parts.Station) int {
	for i := min(len(s.Past), len(r.Steps)) - 1; i >= 0; i-- {
		if s.Past[i].How == parts.WasFilled && r.Steps[i].Station == at && !r.Steps[i].Wait() {
			return i
		}
	}
	return -1
}
