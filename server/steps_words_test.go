package server

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"benchtally/parts"
	"benchtally/templates"
)

func TestStepWords(t *testing.T) {
	style := styles[0]
	tests := []struct {
		step parts.Step
		want string
	}{
		{parts.Step{Station: "rip"}, ""},
		{parts.Step{Station: "rip", Sets: parts.ToWidth, Makes: parts.ToWidth, Safe: parts.Smallest{Length: 12 * parts.Inch}}, `set to its width · width final · at least 12" long`},
		{parts.Step{Station: "bore", Sets: parts.ToPattern, Bores: true, Check: "holes fit the dowels", EachSeconds: 90}, "makes holes · set to its holes · first piece: holes fit the dowels · 1 min 30 s each"},
		{parts.Step{Station: "stain", Coat: "stain", Coats: []parts.Face{parts.ShowFace, parts.BackFace, parts.Edges}, Record: true}, "stain on show face, back and edges · must be recorded"},
		{parts.Step{Station: "plane", Snipe: 2 * parts.Inch, SetupMinutes: 10, EachSeconds: 120}, `spoils 2" at each end · 10 min to set · 2 min each`},
		{parts.Step{Clock: parts.Drying, Minutes: 240, Latest: 1440, Missed: "see the data sheet"}, "next coat within 24 h · after that: see the data sheet"},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, strings.Join(stepWords(templates.English, tt.step, style), " · "))
	}
}
