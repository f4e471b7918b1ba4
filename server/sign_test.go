package server

import (
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/labels"
	"benchtally/static"
)

// The notches are drawn in one place, and the icon is a copy of that drawing.
func TestTheIconIsDrawnLikeTheStrips(t *testing.T) {
	icon, err := static.Files.ReadFile("icon.svg")
	require.NoError(t, err)
	lines := regexp.MustCompile(` d="[^"]+"`).FindAllString(labels.StripSVG(signStrip), -1)
	require.NotEmpty(t, lines)
	for _, d := range lines {
		assert.Contains(t, string(icon), d, "draw the icon anew: %s", labels.StripSVG(signStrip))
	}
}
