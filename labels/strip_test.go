package labels

import (
	"encoding/xml"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// pathsOf reads a strip's svg: its words and, by class, its path data.
func pathsOf(t *testing.T, text string) (label string, paths map[string]string) {
	t.Helper()
	var svg struct {
		Role  string `xml:"role,attr"`
		Label string `xml:"aria-label,attr"`
		Title string `xml:"title"`
		Paths []struct {
			Class string `xml:"class,attr"`
			D     string `xml:"d,attr"`
		} `xml:"path"`
	}
	require.NoError(t, xml.Unmarshal([]byte(text), &svg), text)
	require.Equal(t, "img", svg.Role)
	require.Equal(t, svg.Label, svg.Title)
	paths = map[string]string{}
	for _, p := range svg.Paths {
		paths[p.Class] += p.D
	}
	return svg.Label, paths
}

func TestStripSVG(t *testing.T) {
	o, f, d, h := parts.OpenNotch, parts.FilledNotch, parts.DottedNotch, parts.HatchedNotch
	tests := []struct {
		name   string
		shapes []parts.NotchShape
		broken bool
		words  string
		moves  map[string]int // strokes or areas of a class
	}{
		{"all to do", []parts.NotchShape{o, o, o}, false, "0 of 3 steps done", map[string]int{"open": 3, "stick": 3}},
		{"half-way", []parts.NotchShape{f, f, o, o}, false, "2 of 4 steps done", map[string]int{"done": 2, "open": 2}},
		{"in clamps", []parts.NotchShape{f, h, o}, false, "1 of 3 steps done, 1 waiting", map[string]int{"done": 1, "open": 1}},
		{"a scan forgotten", []parts.NotchShape{f, d, f}, false, "3 of 3 steps done, 1 not recorded", map[string]int{"done": 2, "unrecorded": 9}},
		{"scrapped", []parts.NotchShape{f, o}, true, "1 of 2 steps done, scrapped", map[string]int{"done": 1, "open": 1, "stick": 2}},
		{"scrapped at the end", []parts.NotchShape{f}, true, "1 of 1 steps done, scrapped", map[string]int{"done": 1, "stick": 2}},
		{"an unknown shape is to do", []parts.NotchShape{'?'}, false, "0 of 1 steps done", map[string]int{"open": 1}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := parts.Strip{Broken: tt.broken}
			for _, shape := range tt.shapes {
				s.Notches = append(s.Notches, parts.Notch{Shape: shape})
			}
			words, paths := pathsOf(t, StripSVG(s))
			assert.Equal(t, tt.words, words)
			for class, want := range tt.moves {
				assert.Equal(t, want, strings.Count(paths[class], "M"), class)
			}
		})
	}
	assert.Empty(t, StripSVG(parts.Strip{}))

	rework := strip(4, 2)
	rework.Notches[1].Nick = true
	words, paths := pathsOf(t, StripSVG(rework))
	assert.Equal(t, "2 of 4 steps done, 1 waiting, 1 with rework", words)
	assert.Equal(t, 1, strings.Count(paths["nick"], "M"))
}

// TestStripStaysInItsFrame: no figure leaves the picture, and each notch keeps
// to its own pitch, however many there are.
func TestStripStaysInItsFrame(t *testing.T) {
	for _, n := range []int{1, 2, 12, 30, 200} {
		for _, broken := range []bool{false, true} {
			for _, done := range []int{0, n / 2, n} {
				s := strip(n, done)
				s.Broken = broken
				for i := range s.Notches {
					s.Notches[i].Nick = true
					if i%3 == 0 {
						s.Notches[i].Shape = parts.DottedNotch
					}
				}
				for _, f := range stripFigures(s) {
					for _, p := range f.points {
						assert.True(t, p.x >= -stickBleed && p.x <= stickLength(s)+stickBleed, "x %g of %g", p.x, stickLength(s))
						assert.True(t, p.y >= -stickBleed && p.y <= stickHeight+stickBleed, "y %g", p.y)
					}
				}
			}
		}
	}
	assert.LessOrEqual(t, stripHeight(strip(30, 3), 40, 2.4), 2.4)
	assert.Zero(t, stripHeight(parts.Strip{}, 40, 2.4))
}
