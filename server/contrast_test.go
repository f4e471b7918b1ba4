package server_test

import (
	"encoding/csv"
	"fmt"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/static"
)

// written is a colour of a style sheet, #rgb or #rrggbb, as a browser says it.
func written(t *testing.T, hex string) string {
	digits := strings.TrimPrefix(hex, "#")
	if len(digits) == 3 {
		digits = strings.Repeat(digits[:1], 2) + strings.Repeat(digits[1:2], 2) + strings.Repeat(digits[2:], 2)
	}
	v, err := strconv.ParseUint(digits, 16, 24)
	require.NoError(t, err, hex)
	return fmt.Sprintf("rgb(%d, %d, %d)", v>>16, v>>8&255, v&255)
}

// colours are the colours of each block of a style sheet that sets them, by
// its selector: what is light stands first, and dark sets some of it anew.
func colours(t *testing.T, sheet string) map[string]map[string]string {
	text, err := static.Files.ReadFile(sheet)
	require.NoError(t, err)
	blocks := regexp.MustCompile(`(?s)(:root[^{ ]*) \{(.*?)\}`).FindAllSubmatch(text, -1)
	out := map[string]map[string]string{}
	for _, b := range blocks {
		set := map[string]string{}
		for _, v := range regexp.MustCompile(`--([a-z-]+): ([^;]+);`).FindAllSubmatch(b[2], -1) {
			set[string(v[1])] = string(v[2])
		}
		if set["ink"] != "" {
			name := string(b[1])
			if out[name] != nil {
				name += " after dark"
			}
			if out[name] == nil {
				out[name] = set // what follows is for bright surroundings
			}
		}
	}
	return out
}

// palettes are the colours of the pages, light and dark.
func palettes(t *testing.T) map[string]map[string]string {
	sets := colours(t, "bench.css")
	light, dark := sets[":root"], map[string]string{}
	require.NotEmpty(t, light)
	require.NotEmpty(t, sets[":root.dark"])
	for name, v := range light {
		dark[name] = v
	}
	for name, v := range sets[":root.dark"] {
		dark[name] = v
	}
	assert.Equal(t, sets[":root.dark"], sets[":root:not(.light)"], "dark is the same, asked for or not")
	return map[string]map[string]string{"light": light, "dark": dark}
}

func TestTheFormulaOfContrast(t *testing.T) {
	text, err := os.ReadFile("../testdata/contrast/pairs.csv")
	require.NoError(t, err)
	_, table, found := strings.Cut(string(text), "first,second,ratio\n")
	require.True(t, found)
	rows, err := csv.NewReader(strings.NewReader(table)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 8)
	for _, row := range rows {
		want, err := strconv.ParseFloat(row[2], 64)
		require.NoError(t, err)
		assert.InDelta(t, want, contrast(written(t, row[0]), written(t, row[1])), .005, row)
	}
}

// Source: WCAG 2.2, success criteria 1.4.3 (text, 4.5 to 1) and 1.4.11 (marks
// and the edges of controls, 3 to 1).
func TestEveryStateCanBeSeen(t *testing.T) {
	for shade, set := range palettes(t) {
		colour := func(name string) string {
			require.NotEmpty(t, set[name], "%s: %s", shade, name)
			return written(t, set[name])
		}
		text := func(front, ground string) {
			assert.GreaterOrEqual(t, contrast(front, ground), 4.5, "%s: %s on %s", shade, front, ground)
		}
		for _, ground := range []string{"paper", "sheet"} {
			for _, front := range []string{"ink", "graphite", "go", "wait", "stop"} {
				text(colour(front), colour(ground))
				text(colour(front), hatched(t, set["hatch"], colour(ground)))
			}
			assert.GreaterOrEqual(t, contrast(colour("edge"), colour(ground)), 3.0, "%s: the edge of a field on %s", shade, ground)
		}
		text(colour("paper"), colour("ink")) // the main action
		for _, ground := range []string{"go-ground", "stop-ground"} {
			text(colour("on-ground"), colour(ground))
		}
	}
}

// hatched is a ground where a line of the hatching crosses it.
func hatched(t *testing.T, hatch, ground string) string {
	line := regexp.MustCompile(`(#[0-9a-f]{6})([0-9a-f]{2}) `).FindStringSubmatch(hatch)
	require.Len(t, line, 3, hatch)
	alpha, err := strconv.ParseUint(line[2], 16, 8)
	require.NoError(t, err)
	var over, under [3]float64
	fmt.Sscanf(written(t, line[1]), "rgb(%f, %f, %f)", &over[0], &over[1], &over[2])
	fmt.Sscanf(ground, "rgb(%f, %f, %f)", &under[0], &under[1], &under[2])
	a := float64(alpha) / 255
	mixed := func(i int) float64 { return a*over[i] + (1-a)*under[i] }
	return fmt.Sprintf("rgb(%f, %f, %f)", mixed(0), mixed(1), mixed(2))
}

// The scanning page keeps a style sheet of its own, with the same colours.
func TestTheColoursAreTheSameOnTheScanningPage(t *testing.T) {
	pages, scan := palettes(t), colours(t, "scan.css")
	for shade, name := range map[string]string{"light": ":root", "dark": ":root after dark"} {
		require.NotEmpty(t, scan[name], shade)
		for colour, v := range scan[name] {
			assert.Equal(t, pages[shade][colour], v, "%s: %s", shade, colour)
		}
	}
}
