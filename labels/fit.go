package labels

import "benchtally/parts"

// Fit is how the code of a text comes out on a label.
type Fit struct {
	Version int          // of the code, ISO/IEC 18004: 2 has 25 squares a side
	Squares int          // on a side
	Square  parts.Length // side of one
	Side    parts.Length // of the whole code without its white border
	Dirt    int          // percent of it that may be unreadable
	SVG     string       // the code, drawn as SVG draws one
}

// FitOf says how the code of text comes out on a label of a format. A text
// that makes a code too fine for the format is a Problem.
func FitOf(f Format, text string) (Fit, error) {
	if err := CheckFormat(f); err != nil {
		return Fit{}, err
	}
	g := f.lay(Adjust{})
	c, err := encode(text, g.codeBox(), g.press())
	if err != nil {
		return Fit{}, err
	}
	squares := len(c.bits)
	return Fit{
		Version: (squares - 17) / 4, Squares: squares, Square: mmLength(c.module()), Side: mmLength(c.dark()),
		Dirt: []int{7, 15, 25, 30}[c.level], SVG: svgOf(c.bits),
	}, nil
}
