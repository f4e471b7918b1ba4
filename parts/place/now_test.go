package place

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"benchtally/parts"
	"benchtally/parts/routing"
)

// milled is a plan with everything: nothing on the part until it is bored
// (step 1), its back until it is sanded (step 3), its back again until it is
// oiled (step 5), and a tag.
var milled = []Stretch{
	{From: -1, To: 1, Place: Ticket, Name: "bore"},
	{From: 1, To: 3, Place: Back, Name: "sand", Prints: true},
	{From: 3, To: 5, Place: Back, Name: "oil", Prints: true},
	{From: 5, To: 8, Place: Tag, Prints: true},
}

func TestNowAndChange(t *testing.T) {
	for next, want := range map[int]int{-1: 0, 0: 0, 1: 0, 2: 1, 3: 1, 4: 2, 5: 2, 6: 3, 7: 3, 8: 3, 99: 3} {
		assert.Equal(t, milled[want], Now(milled, next), "next is step %d", next)
		change, ok := Change(milled, next)
		assert.Equal(t, want < 3, ok, "next is step %d", next)
		if ok {
			assert.Equal(t, milled[want+1], change, "next is step %d", next)
		}
	}
	assert.Zero(t, Now(nil, 2))
	_, ok := Change(nil, 2)
	assert.False(t, ok)
}

func TestDestroyed(t *testing.T) {
	for step := -1; step < 9; step++ {
		assert.Equal(t, step == 3 || step == 5, Destroyed(milled, step), "step %d", step)
	}
	lost := []Stretch{{From: -1, To: 1, Place: Back, Name: "sand", Prints: true}, {From: 1, To: 2, Place: Ticket, Name: "bore"}}
	assert.False(t, Destroyed(lost, 1), "no new label is due where the ticket does again")
	assert.False(t, Destroyed(nil, 0))
}

func TestDue(t *testing.T) {
	tests := []struct {
		name          string
		before, after int
		want          bool
	}{
		{"under its ticket", 0, 1, false},
		{"bored: the first label", 1, 2, true},
		{"bored, and the step before was never recorded", 0, 2, true},
		{"a step that the label outlives", 2, 3, false},
		{"sanded: the second label", 3, 4, true},
		{"two labels at once are one", 0, 4, true},
		{"straight to the end", 0, 8, true},
		{"the tag stays", 6, 8, false},
		{"taken back", 4, 2, false},
		{"nothing moved", 2, 2, false},
		{"into the books", -1, 0, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, Due(milled, tt.before, tt.after))
		})
	}
	bought := Plan(parts.Line{}, ready(t, routing.Bought), letter)
	assert.True(t, Due(bought, -1, 0), "what is bought has its label from the start")
	assert.False(t, Due(bought, 0, 1))
	assert.False(t, Due(nil, 0, 1))
}

func TestLabels(t *testing.T) {
	for next, want := range []int{0, 0, 1, 1, 2, 2, 3, 3, 3} {
		assert.Equal(t, want, Labels(milled, next), "next is step %d", next)
	}
}

func TestSpoils(t *testing.T) {
	sand := parts.Step{Name: "sand it level", Cuts: []parts.Face{parts.BackFace, parts.Ends}}
	for place, want := range map[Place]bool{Back: true, Ends: true, Edges: false, Ticket: false, Tag: false, Rack: false} {
		assert.Equal(t, want, Stretch{Place: place}.Spoils(sand), place)
	}
}
