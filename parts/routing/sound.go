package routing

import (
	"slices"

	"benchtally/parts"
)

// sound gives the view with positions that can be counted with. A row that
// was damaged may stand before its first step or behind its repair; a scan of
// it is answered like any other, and the check of the log finds the row.
func sound(v parts.View) parts.View {
	v.Subject = counted(v.Subject)
	copied := false
	for i, s := range v.Group {
		if s.Next >= 0 && s.Mend >= 0 && s.Mend <= len(s.Repair) {
			continue
		}
		if !copied {
			v.Group, copied = slices.Clone(v.Group), true
		}
		v.Group[i] = counted(s)
	}
	return v
}

// counted is s between its first step and the end of its repair.
func counted(s parts.State) parts.State {
	s.Next, s.Mend = max(0, s.Next), min(max(0, s.Mend), len(s.Repair))
	return s
}
