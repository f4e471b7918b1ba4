package place

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"benchtally/parts"
	"benchtally/parts/routing"
)

func TestSay(t *testing.T) {
	format, args := Say(milled)
	assert.Equal(t, "Keep with the ticket. After %s: on the back face. After %s: a new one on the back face. After %s: hang on a tag.", format)
	assert.Equal(t, []any{"boring", "sanding", "oiling"}, args)
	assert.Equal(t, "Keep with the ticket. After boring: on the back face. After sanding: a new one on the back face. After oiling: hang on a tag.", Text(milled))
	assert.Equal(t, "On the back face. After oiling: hang on a tag.", Text(milled[2:]), "what is left of it")
	assert.Empty(t, Text(nil))
}

// What a page says of the ready-made steps from the start on, and what a small
// label says, the fullest way first.
func TestWhatIsSaidOfTheReadyMadeSteps(t *testing.T) {
	stile := piece(t, "34 1/2", "2 1/4", "3/4")
	strip := piece(t, "to suit 36", "1 1/4", "3/8")
	tests := []struct {
		name  string
		line  parts.Line
		steps string
		label Size2D
		by    Keeper
		page  string
		short []string
	}{
		{"a stile of a frame", into(stile), routing.FramePart, letter, ByTicket, "Keep with the ticket. After boring: on the back face.",
			[]string{"ticket until bored, then back face", "ticket, then back face", "back face"}},
		{"the same made again", into(stile), routing.FramePart, letter, ByBlank, "Tie to the blank. After boring: on the back face.",
			[]string{"on the blank until bored, then back face", "on the blank, then back face", "back face"}},
		{"a stile with dowels", into(stile), routing.DowelPart, letter, ByTicket, "Keep with the ticket. After gluing dowels in: on the back face.",
			[]string{"ticket, then back face", "back face"}},
		{"a frame", parts.Line{Kind: parts.Assembly}, routing.Frame, letter, ByParts, "Keep with its parts. After gluing up: hang on a tag.",
			[]string{"with its parts until glued up, then tag", "with its parts, then tag", "tag"}},
		{"a shelf", piece(t, "15 1/4", "11 7/8", "3/4"), routing.Panel, letter, ByTicket, "Keep with the ticket. After sanding: hang on a tag.",
			[]string{"ticket until sanded, then tag", "ticket, then tag", "tag"}},
		{"a strip narrower than its label", strip, routing.LoosePart, a4, ByTicket, "Keep with the ticket. After sanding: its place on the rack stands for it.",
			[]string{"ticket until sanded, then place on the rack", "ticket, then place on the rack", "place on the rack"}},
		{"a narrow strip of a frame", into(strip), routing.FramePart, a4, ByTicket, "Keep with the ticket until put together.", []string{"ticket"}},
		{"a bought part of a frame", into(piece(t, "", "", "")), routing.Bought, letter, ByTicket, "On the back face.", []string{"back face"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			plan := Plan(tt.line, ready(t, tt.steps), tt.label)
			assert.Equal(t, tt.page, Sentences(plan, tt.by).String())
			assert.Equal(t, tt.short, Short(plan, tt.by))
		})
	}
}

// From its glue-up on a frame is told by its tag, and the words say since when.
func TestWhatIsSaidOnceAStretchHasBegun(t *testing.T) {
	frame := Plan(parts.Line{Kind: parts.Assembly}, ready(t, routing.Frame), letter)
	assert.Equal(t, "Glued up: hang on a tag.", Text(frame[1:]))
	assert.Equal(t, []string{"tag"}, Short(frame[1:], ByParts))
	assert.Equal(t, "Hang on a tag.", Text([]Stretch{{Place: Tag, Since: "stain, first coat"}}), "half a name says nothing")
	assert.Equal(t, "On the back face until sanded.", Text(milled[1:2]))
	assert.Equal(t, []string{"back face until sanded", "back face"}, Short(milled[1:2], ByTicket))
	assert.Equal(t, "Keep with the ticket. After “rough length”: on an end.", Text([]Stretch{{Place: Ticket, Name: "rough length"}, {Place: Ends, Prints: true}}))
	assert.Empty(t, Short(nil, ByTicket))
}

func TestStepsThatAreDone(t *testing.T) {
	for name, want := range map[string][2]string{
		"bore": {"bored", "boring"}, "Plane": {"planed", "planing"}, "rip to width": {"ripped to width", "ripping to width"},
		"cut to length": {"cut to length", "cutting to length"}, "glue up, clamps on": {"glued up", "gluing up"},
		"screw together": {"screwed together", "screwing together"}, "put together": {PutTogether, "putting together"},
		"joint a face and an edge": {"“joint a face and an edge” is done", "jointing a face and an edge"},
		"glue dowels in":           {"“glue dowels in” is done", "gluing dowels in"},
		"stain, first coat":        {"“stain, first coat” is done", "“stain, first coat”"},
		"rough length":             {"“rough length” is done", "“rough length”"},
		"100 % sanded":             {"“100 % sanded” is done", "“100 % sanded”"}, ", ": {"“, ” is done", "“, ”"},
	} {
		assert.Equal(t, want, [2]string{done(name), doing(name)})
	}
}

// Every ready-made plan is short enough for a line of the smallest label in
// its shortest way, and every way ends in where the label goes.
func TestReadyMadePlansAreShort(t *testing.T) {
	for _, r := range routing.ReadyMade() {
		plan := Plan(into(piece(t, "34 1/2", "2 1/4", "3/4")), r, letter)
		assert.NotContains(t, Text(plan), "%!")
		ways := Short(plan, ByTicket)
		last := ways[len(ways)-1]
		assert.LessOrEqual(t, len([]rune(last)), 17, last)
		for i, way := range ways {
			assert.Contains(t, way, last)
			assert.True(t, i == 0 || len(way) < len(ways[i-1]), way)
		}
	}
}
