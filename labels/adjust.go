package labels

import "benchtally/parts"

// Adjust is how far a printer is off, so that what is printed lands on the die
// cut: every place on the page is scaled about the page's upper left corner
// and then moved right and down. The zero Adjust is a printer that is right.
type Adjust struct {
	DX    parts.Length `json:"dx,omitempty"`
	DY    parts.Length `json:"dy,omitempty"`
	Scale int          `json:"scale,omitempty"` // parts per 100,000; 0 is 100,000
}

// trueScale is the Scale of a printer that prints at 100 %.
const trueScale = 100_000

// factor is the scale as a number.
func (a Adjust) factor() float64 {
	if a.Scale == 0 {
		return 1
	}
	return float64(a.Scale) / trueScale
}

// CheckAdjust refuses adjustments that no printer needs: they are slips.
func CheckAdjust(a Adjust) error {
	const most = 10 * parts.Millimetre
	switch {
	case a.DX < -most || a.DX > most || a.DY < -most || a.DY > most:
		return parts.Problemf(parts.Invalid, "adjust-far", "A printer that is more than 10 mm off needs its paper guides set.").
			Next("Set the guides to the paper, print the page again and measure from the paper's edges.")
	case a.Scale != 0 && (a.Scale < 95_000 || a.Scale > 105_000):
		return parts.Problemf(parts.Invalid, "adjust-scale", "A printer that is more than 5 %% off is fitting the page.").
			Next("Choose 100 %% or “actual size” in the printer's window and print the page again.")
	}
	return nil
}

// Measured is what a person reads off a printed calibration page with a rule:
// from the paper's left and upper edge to the first cross, and from that to
// the second one across and to the third one down.
type Measured struct {
	Left   parts.Length `json:"left"`
	Top    parts.Length `json:"top"`
	Across parts.Length `json:"across"`
	Down   parts.Length `json:"down"`
}

// Right is what is measured on the calibration page of a format when the
// printer is right. On paper of a page printer the first cross is 20 mm from
// both edges, with 160 mm across and 220 down from it. On a smaller page, such
// as a label of a roll, the crosses lie as far apart as it has room for.
func (f Format) Right() Measured {
	const mm = parts.Millimetre
	if f.PageW >= 200*mm && f.PageH >= 265*mm {
		return Measured{Left: 20 * mm, Top: 20 * mm, Across: 160 * mm, Down: 220 * mm}
	}
	from := 5 * mm
	if min(f.PageW, f.PageH) < 30*mm {
		from = 4 * mm
	}
	whole := func(side parts.Length) parts.Length { return (side - 2*from) / mm * mm }
	return Measured{Left: from, Top: from, Across: whole(f.PageW), Down: whole(f.PageH)}
}

// AdjustFor works out the adjustment from what was measured on the calibration
// page of a format. A printer that puts p at s*p + o is put right by drawing p
// at (p - o) / s. Across and down share one scale, their mean.
func AdjustFor(f Format, m Measured) (Adjust, error) {
	if m.Left <= 0 || m.Top <= 0 || m.Across <= 0 || m.Down <= 0 {
		return Adjust{}, parts.Problemf(parts.Invalid, "measure-missing", "One of the four lengths is missing.").
			Next("Measure all four on the printed page and give each.")
	}
	right := f.Right()
	k := float64(right.Across+right.Down) / float64(m.Across+m.Down)
	a := Adjust{DX: right.Left - scaled(m.Left, k), DY: right.Top - scaled(m.Top, k), Scale: int(k*trueScale + 0.5)}
	if a.Scale == trueScale {
		a.Scale = 0
	}
	return a, CheckAdjust(a)
}

// scaled is a length times k, to the next micrometre.
func scaled(l parts.Length, k float64) parts.Length {
	return parts.Length(float64(l)*k/float64(parts.Micrometre)+0.5) * parts.Micrometre
}
