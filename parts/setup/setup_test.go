package setup

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// shop has stiles and rails of one width, and a shelf of another; the steps
// are joint, rip to width, a rest, cut to length.
func shop(states ...parts.State) Shop {
	size := func(inches parts.Length) parts.Size { return parts.Size{Length: inches * parts.Inch} }
	return Shop{
		Lines: map[int64]parts.Line{
			1: {ID: 1, Kind: parts.Single, Name: "Stile", Width: size(2), Length: size(34), Ticket: "T1"},
			2: {ID: 2, Kind: parts.Single, Name: "Rail", Width: size(2), Length: size(12), Ticket: "T2"},
			3: {ID: 3, Kind: parts.Single, Name: "Shelf", Width: size(10), Length: size(30), Ticket: "T3"},
			4: {ID: 4, Kind: parts.Assembly, Name: "Frame"},
		},
		Routings: map[int64]parts.Routing{
			1: {Steps: []parts.Step{{Name: "joint", Station: "joint"}, {Name: "rip to width", Station: "rip", Sets: parts.ToWidth},
				{Name: "rest", Clock: parts.Resting, Minutes: 60}, {Name: "cut to length", Station: "crosscut", Sets: parts.ToLength}}},
			2: {Steps: []parts.Step{{Name: "dry fit", Station: "glue", Binds: true}}},
		},
		Stations: []parts.StationRow{{Key: "joint", Name: "at the jointer"}, {Key: "rip", Name: "at the rip saw"}},
		States:   states, Style: parts.Style{Unit: "in", Denominator: 32}, Now: noon,
	}
}

func piece(line int64, next int) parts.State {
	return parts.State{Part: parts.ID(rune('A' + line)), Kind: parts.Single, Line: line, Steps: 1, Next: next}
}

func TestTheFenceIsSharedByWidth(t *testing.T) {
	setups := At(shop(piece(1, 1), piece(1, 1), piece(2, 1), piece(2, 0), piece(3, 1)), "rip")
	require.Len(t, setups, 2)
	two := setups[0]
	assert.Equal(t, `2"`, two.Size)
	assert.Equal(t, 3, two.Ready)
	assert.Equal(t, 1, two.Later)
	require.Len(t, two.Here, 2)
	assert.Equal(t, parts.ID("T1"), two.Here[0].Mark)
	assert.Equal(t, 2, two.Here[0].Count)
	require.Len(t, two.Coming, 1)
	assert.Equal(t, "at the jointer", two.Coming[0].Where)
	assert.Equal(t, `10"`, setups[1].Size)
}

func TestWhatWaitsComesLater(t *testing.T) {
	resting := piece(1, 3)
	resting.Waits = []parts.Wait{{Clock: parts.Resting, Step: 2, From: noon, Until: noon.Add(time.Minute)}}
	setups := At(shop(resting), "crosscut")
	require.Len(t, setups, 1)
	assert.Zero(t, setups[0].Ready)
	assert.Equal(t, "resting", setups[0].Coming[0].Where)
	assert.Equal(t, noon.Add(time.Minute), setups[0].Coming[0].Until)
	longer := resting
	longer.Part, longer.Waits = "2", []parts.Wait{{Clock: parts.Resting, Step: 2, From: noon, Until: noon.Add(time.Hour)}}
	both := At(shop(longer, resting), "crosscut")[0].Coming
	require.Len(t, both, 1)
	assert.Equal(t, noon.Add(time.Hour), both[0].Until, "the last of them")
	later := shop(resting)
	later.Now = noon.Add(time.Minute)
	assert.Equal(t, 1, At(later, "crosscut")[0].Ready)
}

func TestWhatIsOutOfTheWayIsNotListed(t *testing.T) {
	held, scrapped, done := piece(1, 1), piece(1, 1), piece(1, 4)
	held.Held, scrapped.Scrapped, done.Finished = "crack", true, true
	assert.Empty(t, At(shop(held, scrapped, done), "rip"))
}

func TestAStepWithoutASettingWaitsForNothing(t *testing.T) {
	setups := At(shop(piece(1, 0)), "joint")
	require.Len(t, setups, 1)
	assert.Equal(t, "", setups[0].Size)
	assert.Empty(t, At(shop(piece(1, 1)), "joint"))
}

func TestFramesWithoutPartsWait(t *testing.T) {
	frame := parts.State{Part: "F", Kind: parts.Assembly, Line: 4, Steps: 2}
	s := shop(frame, frame, frame)
	s.Complete = map[int64]int{4: 2}
	setups := At(s, "glue")
	require.Len(t, setups, 1)
	assert.Equal(t, 2, setups[0].Ready)
	assert.Equal(t, "waiting for parts", setups[0].Coming[0].Where)
	assert.Equal(t, 2, s.Complete[4], "what was given is not changed")
}
