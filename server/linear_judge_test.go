package server

import (
	"math"
	"testing"

	"github.com/anishathalye/porcupine"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The judge is judged: histories written by hand, which can or cannot be.
func TestTheJudgeOfHistoriesTellsTheImpossible(t *testing.T) {
	scan := func(id string) asked { return asked{verb: "scan", mark: "101S", id: id, station: "plane", step: 1} }
	undo := asked{verb: "undo", mark: "101S", id: "u", target: "a"}
	hold := asked{verb: "hold", mark: "101S", id: "h"}
	release := asked{verb: "release", mark: "101S", id: "r"}
	bore := asked{verb: "scan", mark: "101S", id: "b", station: "bore", override: true}
	plug := asked{verb: "plug", mark: "101S", id: "p"}
	planed := heard{status: 200, outcome: "recorded", did: "plane", stands: "resting", next: 3}
	before := heard{status: 200, outcome: "already", code: "done-already"}
	undone := heard{status: 200, outcome: "recorded", did: "undone", stands: "ready", next: 1}
	holds := heard{status: 200, outcome: "recorded", stands: "held", next: 1}
	goesOn := heard{status: 200, outcome: "recorded", stands: "ready", next: 1}
	lost := heard{unknown: true}
	log := func(ids string) (asked, heard) {
		return asked{verb: "log", mark: "101S"}, heard{status: 200, shape: ids}
	}
	op := func(call, end int64, a asked, h heard) porcupine.Operation {
		if h.unknown {
			end = math.MaxInt64
		}
		return porcupine.Operation{Input: a, Call: call, Output: h, Return: end}
	}
	read := func(call, end int64, ids string) porcupine.Operation {
		a, h := log(ids)
		return op(call, end, a, h)
	}
	tests := []struct {
		name    string
		history []porcupine.Operation
		want    porcupine.CheckResult
	}{
		{"one after the other", []porcupine.Operation{op(1, 2, scan("a"), planed), op(3, 4, scan("b"), before), read(5, 6, "a")}, porcupine.Ok},
		{"a step done by two", []porcupine.Operation{op(1, 4, scan("a"), planed), op(2, 3, scan("b"), planed)}, porcupine.Illegal},
		{"each tells the other that it was first", []porcupine.Operation{op(1, 4, scan("a"), before), op(2, 3, scan("b"), before)}, porcupine.Illegal},
		{"an answer that is lost again", []porcupine.Operation{op(1, 2, scan("a"), planed), read(3, 4, "")}, porcupine.Illegal},
		{"read while it is written, not yet there", []porcupine.Operation{op(1, 4, scan("a"), planed), read(2, 3, "")}, porcupine.Ok},
		{"seen, and then not yet there", []porcupine.Operation{op(1, 9, scan("a"), planed), read(2, 3, "a"), read(4, 5, "")}, porcupine.Illegal},
		{"done twice", []porcupine.Operation{op(1, 2, scan("a"), planed), read(3, 4, "a a")}, porcupine.Illegal},
		{"cut off and done", []porcupine.Operation{op(1, 0, scan("a"), lost), read(3, 4, "a")}, porcupine.Ok},
		{"cut off and done later", []porcupine.Operation{op(1, 0, scan("a"), lost), read(3, 4, ""), read(5, 6, "a")}, porcupine.Ok},
		{"cut off and never done", []porcupine.Operation{op(1, 0, scan("a"), lost), read(3, 4, ""), op(5, 6, scan("b"), planed)}, porcupine.Ok},
		{"cut off and done before it was asked", []porcupine.Operation{read(1, 2, "a"), op(3, 0, scan("a"), lost)}, porcupine.Illegal},
		{"cut off, and another may do it too", []porcupine.Operation{op(1, 0, scan("a"), lost), read(2, 3, "a"), op(4, 5, scan("b"), planed)}, porcupine.Illegal},
		{"taken back", []porcupine.Operation{op(1, 2, scan("a"), planed), op(3, 4, undo, undone), read(5, 6, "a u")}, porcupine.Ok},
		{"taken back before it was done", []porcupine.Operation{op(1, 2, undo, undone), op(3, 4, scan("a"), planed)}, porcupine.Illegal},
		{"taken back over what came later", []porcupine.Operation{op(1, 2, scan("a"), planed), op(3, 4, hold, heard{status: 200, outcome: "recorded", stands: "held", next: 3}),
			op(5, 6, undo, undone)}, porcupine.Illegal},
		{"moved while it was held", []porcupine.Operation{op(1, 2, hold, holds), op(3, 4, scan("a"), planed)}, porcupine.Illegal},
		{"moved between hold and release", []porcupine.Operation{op(1, 2, hold, holds), op(3, 8, release, goesOn), op(4, 5, scan("a"), planed)}, porcupine.Ok},
		{"plugged without a hole", []porcupine.Operation{op(1, 2, plug, heard{status: 200, outcome: "recorded", stands: "setting", next: 1002})}, porcupine.Illegal},
		{"bored past a rest that somebody overruled", []porcupine.Operation{op(1, 2, scan("a"), planed),
			op(3, 4, bore, heard{status: 200, outcome: "recorded", did: "bore", stands: "ready", next: 4}),
			op(5, 6, asked{verb: "look", mark: "101S"}, heard{status: 200, stands: "ready", next: 4, shape: "done unrecorded done open open open open open"})}, porcupine.Ok},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			result, _ := linear(tt.history)
			assert.Equal(t, tt.want, result)
		})
	}
}

// The account must not change a life that the checker still holds.
func TestTheJudgeLeavesLivesAsTheyAre(t *testing.T) {
	start := life{{back: -1}}
	one, _ := start.tell(asked{verb: "hold", id: "h"})
	two, _ := start.tell(asked{verb: "scan", id: "a", station: "plane"})
	require.Len(t, start, 1)
	require.True(t, one.now().held)
	require.Equal(t, board{past: "dw"}, two.now())
}
