package finish

import (
	"fmt"
	"strings"
	"time"

	"benchtally/parts"
)

// Sample is a board that shows a client how a mix looks.
type Sample struct {
	Number   int       `json:"number"`
	Mix      Mix       `json:"mix"`             // as it was on the board
	Wood     string    `json:"wood"`            // "white oak"
	Grit     int       `json:"grit"`            // of the last sanding
	Coats    int       `json:"coats"`           // of the mix
	Over     string    `json:"over"`            // the clear coat over it; "" for none
	Photo    string    `json:"photo,omitempty"` // name of a picture of it
	Approved *Approval `json:"approved,omitempty"`
}

// Approval says that a client chose a colour.
type Approval struct {
	By     string    `json:"by"` // who said so
	At     time.Time `json:"at"`
	Sample int       `json:"sample,omitempty"` // number of the board
	Recipe string    `json:"recipe"`           // what was chosen, see Mix.Recipe
}

// UsualRatios are the shares of base to colour that sample boards usually
// show: common practice, no source.
func UsualRatios() [][2]Decimal {
	return [][2]Decimal{{2 * One, One}, {3 * One, One}, {4 * One, One}}
}

// Samples gives the mix in other ratios of its two components, to be shown
// side by side.
func Samples(m Mix, ratios [][2]Decimal) ([]Mix, *parts.Problem) {
	if len(m.Components) != 2 {
		return nil, invalid(CodeRatio, "%s has %d components, and ratios take two.", m.Name, len(m.Components)).
			Next("Write each sample as a mix of its own.")
	}
	out := make([]Mix, len(ratios))
	for i, r := range ratios {
		s := m
		s.Components = []Component{m.Components[0], m.Components[1]}
		s.Components[0].Parts, s.Components[1].Parts = r[0], r[1]
		s.Key = fmt.Sprintf("%s-%s-%s", m.Key, r[0], r[1])
		s.Name = fmt.Sprintf("%s %s:%s", m.Name, r[0], r[1])
		s.Approved = nil
		if p := Check(s); p != nil {
			return nil, p
		}
		out[i] = s
	}
	return out, nil
}

// The codes of the colour gate and of samples.
const (
	CodeNotApproved   = "colour-not-approved"
	CodeColourChanged = "colour-changed"
	CodeSample        = "sample"
)

// Alike refuses sample boards that differ in more than the mix: then it is
// not the mix that a client sees.
func Alike(samples []Sample) *parts.Problem {
	for _, s := range samples {
		if strings.TrimSpace(s.Wood) == "" || s.Grit <= 0 || s.Coats <= 0 {
			return invalid(CodeSample, "The wood, the grit or the coats of sample %d are not written.", s.Number).
				Next("Write them: the colour hangs on all three.")
		}
		first := samples[0]
		if !strings.EqualFold(s.Wood, first.Wood) || s.Grit != first.Grit || s.Coats != first.Coats || !strings.EqualFold(s.Over, first.Over) {
			return invalid(CodeSample, "Samples %d and %d differ in wood, grit, coats or the clear coat over them.", first.Number, s.Number).
				Next("Make them alike in everything but the mix.")
		}
	}
	return nil
}

// Approve gives the mix of a sample with the client's approval.
func Approve(s Sample, by string, at time.Time) (Mix, *parts.Problem) {
	if strings.TrimSpace(by) == "" {
		return Mix{}, invalid(CodeSample, "Nobody is named who chose sample %d.", s.Number).Next("Write who said so.")
	}
	if p := Alike([]Sample{s}); p != nil {
		return Mix{}, p
	}
	m := s.Mix
	if p := Check(m); p != nil {
		return Mix{}, p
	}
	m.Approved = &Approval{By: by, At: at, Sample: s.Number, Recipe: m.Recipe()}
	return m, nil
}

// ColourGate refuses to put on a mix that gives colour until the client chose
// a sample of it, and again when its shares are no longer those chosen.
func ColourGate(m Mix) *parts.Problem {
	switch {
	case !m.Colours():
		return nil
	case m.Approved == nil:
		return parts.Problemf(parts.Refused, CodeNotApproved, "Nobody has approved the colour of %s.", m.Name).
			Next("Show the client a sample board, and record who approved it.")
	case m.Approved.Recipe != m.Recipe():
		return parts.Problemf(parts.Refused, CodeColourChanged, "%s is not the mix that %s approved, which was: %s.", m.Name, m.Approved.By, m.Approved.Recipe).
			Next("Mix it as approved, or show a new sample board.")
	}
	return nil
}
