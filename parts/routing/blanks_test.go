package routing_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/routing"
)

// slatTicket stands for ten slats in blanks of four, so the third blank gives
// only two.
var slatTicket = parts.State{Part: "106X", Seq: 1, Kind: parts.Ticket, Line: slats}

// slatsAt are ten slats, so many of which stand before each of some steps.
func slatsAt(counts map[int]int) []parts.State {
	var out []parts.State
	for next := range 9 {
		for range counts[next] {
			out = append(out, piece(slats, len(out)+1, next))
		}
	}
	return out
}

func TestATicketOfBlanks(t *testing.T) {
	blanks := func(st parts.Station, n int) parts.Scan { return parts.Scan{Station: st, Blanks: n} }
	tests := []struct {
		name  string
		group []parts.State
		scan  parts.Scan
		code  string
		moved int
	}{
		{"all of them, uncounted", slatsAt(map[int]int{fpPlane: 10}), blanks("plane", 0), "", 10},
		{"one blank is four slats", slatsAt(map[int]int{fpPlane: 10}), blanks("plane", 1), "", 4},
		{"two blanks", slatsAt(map[int]int{fpPlane: 10}), blanks("plane", 2), "", 8},
		{"three blanks, the last a short one", slatsAt(map[int]int{fpPlane: 10}), blanks("plane", 3), "", 10},
		{"four blanks, and there are three", slatsAt(map[int]int{fpPlane: 10}), blanks("plane", 4), "count", 0},
		{"the short one that stayed behind", slatsAt(map[int]int{fpPlane: 2, fpBore: 8}), blanks("plane", 1), "", 2},
		{"two, and only the short one stayed behind", slatsAt(map[int]int{fpPlane: 2, fpBore: 8}), blanks("plane", 2), "count", 0},
		{"less than none", slatsAt(map[int]int{fpPlane: 10}), blanks("plane", -1), "count", 0},
		{"more than a computer can multiply", slatsAt(map[int]int{fpPlane: 10}), blanks("plane", 1<<62), "count", 0},
		{"the cut that makes them parts counts what went in", slatsAt(map[int]int{fpLength: 10}), blanks("crosscut", 2), "", 8},
		{"at the drill they are parts", slatsAt(map[int]int{fpBore: 10}), blanks("bore", 2), "count", 0},
		{"at the drill they are counted as parts", slatsAt(map[int]int{fpBore: 10}), parts.Scan{Station: "bore", Count: 3}, "", 3},
		{"parts are counted before, too, where a blank broke", slatsAt(map[int]int{fpPlane: 10}), parts.Scan{Station: "plane", Count: 9}, "", 9},
		{"both: the blanks count", slatsAt(map[int]int{fpPlane: 10}), parts.Scan{Station: "plane", Count: 9, Blanks: 1}, "", 4},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.scan.At = noon
			events, err := routing.Advance(view(slatTicket, tt.group...), tt.scan)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			assert.Len(t, events, tt.moved)
		})
	}
	_, err := routing.Advance(view(slatTicket, slatsAt(map[int]int{fpPlane: 10})...), parts.Scan{Station: "plane", Blanks: 4, At: noon})
	assert.Equal(t, "The count says 4 blanks, and this ticket has 3 at most for that step. Lower the count.", err.Error())
	assert.Equal(t, 3, parts.AsProblem(err).Facts["most"])

	for _, v := range []parts.View{view(railTicket, piece(rails, 1, fpPlane)), view(piece(slats, 1, fpPlane))} {
		_, err = routing.Advance(v, parts.Scan{Station: "plane", Blanks: 1, At: noon})
		assert.Equal(t, "count", parts.CodeOf(err), "what is no ticket of blanks has none")
	}
}

func TestUnparted(t *testing.T) {
	r := testRoutings()[framePart]
	tests := []struct {
		name     string
		perBlank int
		r        parts.Routing
		step     int
		want     bool
	}{
		{"before the cut that makes them parts", 4, r, fpPlane, true},
		{"at that cut", 4, r, fpLength, true},
		{"after it", 4, r, fpBore, false},
		{"two in a blank", 2, r, 0, true},
		{"one in a blank is a part", 1, r, 0, false},
		{"none said", 0, r, 0, false},
		{"steps that never part them", 4, testRoutings()[frame], 0, false},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, routing.Unparted(parts.Line{PerBlank: tt.perBlank}, tt.r, tt.step), tt.name)
	}
	o, err := routing.OfferAt(view(slatTicket, slatsAt(map[int]int{fpLength: 6, fpBore: 4})...), "crosscut", 0)
	require.NoError(t, err)
	assert.Equal(t, []int{4, 6}, []int{o.Blanks, o.Due})
	o, err = routing.OfferAt(view(slatTicket, slatsAt(map[int]int{fpLength: 6, fpBore: 4})...), "bore", 0)
	require.NoError(t, err)
	assert.Equal(t, []int{0, 4}, []int{o.Blanks, o.Due})
}
