package place

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"benchtally/parts/routing"
)

func TestSay(t *testing.T) {
	format, args := Say(milled)
	assert.Equal(t, "ticket until %s; then back until %s; then back again until %s; then tag", format)
	assert.Equal(t, []any{"bored", "sanded", "oiled"}, args)
	assert.Equal(t, "ticket until bored; then back until sanded; then back again until oiled; then tag", Text(milled))
	assert.Equal(t, "back until oiled; then tag", Text(milled[2:]), "what is left of it")
	assert.Empty(t, Text(nil))
}

func TestStepsThatAreDone(t *testing.T) {
	for name, want := range map[string]string{
		"bore": "bored", "Plane": "planed", "rip to width": "ripped to width", "cut to length": "cut to length",
		"glue up, clamps on": "glued up", "screw together": "screwed together", "put together": PutTogether,
		"joint a face and an edge": "“joint a face and an edge” is done", "glue dowels in": "“glue dowels in” is done",
		"stain, first coat": "“stain, first coat” is done", "rough length": "“rough length” is done",
		"100 % sanded": "“100 % sanded” is done", ", ": "“, ” is done",
	} {
		assert.Equal(t, want, done(name))
	}
}

// Each ready-made plan is short enough for two lines of a label.
func TestReadyMadePlansAreShort(t *testing.T) {
	for _, r := range routing.ReadyMade() {
		text := Text(Plan(into(piece(t, "34 1/2", "2 1/4", "3/4")), r, letter))
		assert.LessOrEqual(t, len([]rune(text)), 70, text)
		assert.NotContains(t, text, "%!")
	}
}
