package labels

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// doneSteps are steps of which one is done, one must have been, one is to come
// and one is a wait.
func doneSteps() []TicketStep {
	return []TicketStep{{Name: "Rip", Station: "at the saw", Done: "RO 2 Mar 07:00"}, {Name: "Joint", Station: "at the jointer", Unsaid: true},
		{Name: "Plane", Station: "at the planer"}, {Name: "Rest"}}
}

// TestDoneStepsAreFilled reads the boxes off the printed ticket and traveler:
// black where a step is done, nearly white where it is not, and none at a wait.
func TestDoneStepsAreFilled(t *testing.T) {
	const dpi = 300
	for name, write := range map[string]func(*bytes.Buffer) error{
		"ticket": func(w *bytes.Buffer) error {
			return WriteTickets(w, "letter", []Ticket{{Address: "http://192.168.1.20:8080/P/1B00K", Mark: "1B00K", Count: 4, Steps: doneSteps()}})
		},
		"traveler": func(w *bytes.Buffer) error {
			return WriteTraveler(w, "letter", Traveler{Address: "http://192.168.1.20:8080/P/1B00K", Mark: "1B00K", Steps: doneSteps()})
		},
	} {
		var pdf bytes.Buffer
		require.NoError(t, write(&pdf))
		page := pages(t, pdf.Bytes(), printing{dpi, false})[0]
		black := map[string]float64{}
		all := ""
		for _, w := range words(t, pdf.Bytes())[0] {
			all += w.Text + " "
			// The box stands left of the name, level with it.
			x, y := w.XMin-3.2, (w.YMin+w.YMax)/2
			dark, count := 0, 0
			for px := int(x * dpi / 25.4); px < int((x+1.6)*dpi/25.4); px++ {
				for py := int((y - 0.7) * dpi / 25.4); py < int((y+0.7)*dpi/25.4); py++ {
					count++
					if page.GrayAt(px, py).Y < 128 {
						dark++
					}
				}
			}
			black[w.Text] = float64(dark) / float64(count)
		}
		assert.Greater(t, black["Rip"], 0.95, "%s: done", name)
		assert.Less(t, black["Plane"], 0.05, "%s: to do", name)
		assert.True(t, black["Joint"] > 0.02 && black["Joint"] < 0.6, "%s: not recorded has a dot: %v", name, black["Joint"])
		assert.Zero(t, black["Rest"], "%s: nobody ticks a wait", name)
		assert.Contains(t, all, "RO 2 Mar 07:00", name)
		assert.Contains(t, all, "not recorded", name)
	}
}

// TestTheNoteStandsAtAFreeEnd: on the smallest roll the number of the copy is
// kept, beside a row that leaves room for it.
func TestTheNoteStandsAtAFreeEnd(t *testing.T) {
	f, err := FormatByKey("roll-38x18")
	require.NoError(t, err)
	var pdf bytes.Buffer
	l := Label{Address: "http://192.168.1.20:8080/P/2/1A5K", Mark: "1A5K", Name: "Stile 12", Size: "34 1/2 × 2 1/4 × 3/4", Copy: 2, Strip: strip(12, 5)}
	require.NoError(t, WriteLabels(&pdf, f, 1, []Label{l}))
	all := ""
	for _, w := range words(t, pdf.Bytes())[0] {
		all += w.Text + " "
	}
	for _, want := range []string{"1A5K", "Stile 12", "copy 2", "×"} {
		assert.Contains(t, all, want)
	}
}
