package cutlist

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"benchtally/parts"
)

// The codes are those of ISO/IEC 29500-1, 18.8.30 and 18.8.31.
func TestReadFormat(t *testing.T) {
	tests := []struct {
		name string
		code string
		want format
	}{
		{"plain", "General", format{}},
		{"decimals", "0.00", format{}},
		{"fraction", "# ?/?", format{}},
		{"quoted unit", `0.0" mm"`, format{unit: parts.Millimetres}},
		{"escaped unit", `0\ \m\m`, format{unit: parts.Millimetres}},
		{"inch mark", `# ?/?\"`, format{unit: parts.Inches}},
		{"unit of the first section", `0" mm";-0" cm"`, format{unit: parts.Millimetres}},
		{"quoted word that is no unit", `0" days"`, format{}},
		{"colour", "[Red]0.0", format{}},
		{"space as wide as a letter", "0_d", format{}},
		{"filled with a letter", "*d0", format{}},
		{"day and month", "d/m", format{date: true}},
		{"year first", "yyyy\\-mm\\-dd", format{date: true}},
		{"hours that go on", "[h]:mm", format{date: true}},
		{"date after a language", "[$-407]D. MMMM YYYY", format{date: true}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, readFormat(0, &tt.code))
		})
	}
	for id, date := range map[int]bool{0: false, 1: false, 12: false, 14: true, 22: true, 37: false, 45: true, 49: false} {
		assert.Equal(t, date, readFormat(id, nil).date, id)
	}
}
