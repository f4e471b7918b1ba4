package bench_test

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// traveler prints the traveler of an assembly and gives what is on it.
func (s *shop) traveler(name string) string {
	s.Helper()
	var pdf bytes.Buffer
	require.NoError(s, s.WriteTravelers(context.Background(), &pdf, "", s.mark(name)))
	text, _ := printedOn(s.T, pdf.Bytes())
	return text
}

// Before its dry fit an assembly takes any parts of its lines: its traveler
// says how far they are, and ticks what is done to those that would go in. A
// part that is made again does not empty the boxes of those that are ready.
func TestATravelerSaysHowFarThePartsAre(t *testing.T) {
	s := openShop(t)
	text := s.traveler("Locker front 1")
	assert.Contains(t, text, "Parts (4)", "two stiles and two rails")
	assert.Contains(t, text, "4 at the crosscut saw (rough length)")
	assert.NotContains(t, text, "ready")

	s.mill("Stile")
	_, err := s.Remake(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: s.mark("Stile 1"), Reason: "split"})
	require.NoError(t, err)
	text = s.traveler("Locker front 1")
	assert.Contains(t, text, "3 ready, 1 at the crosscut saw (rough length)")
	assert.Equal(t, 2, strings.Count(text, "bore"), "of the stiles and of the rails")
	assert.Regexp(t, `bore [A-Z]* ?\d+ Mar \d\d:\d\d`, text, "done to the stiles that are there")

	// With one stile left that is ready, the boxes show the other one.
	for _, name := range []string{"Stile 2", "Stile 3"} {
		_, err := s.Scrap(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: s.mark(name), Reason: "split"})
		require.NoError(t, err)
	}
	text = s.traveler("Locker front 2")
	assert.Contains(t, text, "1 ready, 1 at the crosscut saw (rough length)")
	assert.NotRegexp(t, `bore [A-Z]* ?\d+ Mar`, text)
	_, err = s.Hold(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: s.mark("Stile 4"), Reason: "torn grain"})
	require.NoError(t, err)
	assert.Contains(t, s.traveler("Locker front 2"), "1 at the crosscut saw (rough length), 1 held")
}
