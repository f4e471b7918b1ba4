package parts_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

var noon = shoptest.Noon

// stored is p as it comes back from where refusals are kept.
func stored(t require.TestingT, p *parts.Problem) *parts.Problem {
	data, err := json.Marshal(p)
	require.NoError(t, err)
	back := new(parts.Problem)
	require.NoError(t, json.Unmarshal(data, back))
	return back
}

func TestProblemArgumentsKeepTheirKind(t *testing.T) {
	tests := []struct {
		name      string
		arg, want any
	}{
		{"a time", noon, noon},
		{"a time of a thousandth", noon.Add(time.Millisecond), noon.Add(time.Millisecond)},
		{"no time", time.Time{}, time.Time{}},
		{"a wait", 130 * time.Minute, 130 * time.Minute},
		{"no wait", time.Duration(0), time.Duration(0)},
		{"a count", 12, 12},
		{"no count", 0, 0},
		{"a count below zero", -3, -3},
		{"a long count", int64(1 << 40), 1 << 40},
		{"a word", "drying", "drying"},
		{"no word", "", ""},
		{"a word that looks like a number", "12", "12"},
		{"a word with marks and signs", "Füllung ½ % \"x\"", "Füllung ½ % \"x\""},
		{"a mark", parts.ID("101S"), "101S"},
		{"a clock", parts.Drying, "drying"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := parts.Problemf(parts.Refused, "x", "%v", tt.arg).Next("%v", tt.arg)
			back := stored(t, p)
			assert.Equal(t, parts.Args{tt.want}, back.Args)
			assert.Equal(t, parts.Args{tt.want}, back.DoArgs)
			assert.Equal(t, p.Error(), back.Error(), "it is the same sentence")
		})
	}
}

func TestAStoredProblemIsTheSameSentence(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.String().Draw(t, "word")
		at := time.UnixMilli(rapid.Int64Range(0, 1<<42).Draw(t, "at")).UTC()
		wait := time.Duration(rapid.Int64().Draw(t, "wait"))
		p := parts.Problemf(parts.Refused, "waiting", "%s is %s: %s to go, ready %s, %d.", word, "drying", wait, at, rapid.Int().Draw(t, "n")).
			Next("Ask %s.", word)
		assert.Equal(t, p.Error(), stored(t, p).Error())
	})
}

func TestProblemIsFoundBehindOtherErrors(t *testing.T) {
	p := parts.Problemf(parts.Busy, "disk-full", "The disk is full.").Because(io.ErrShortWrite).Fact("free", 0)
	err := fmt.Errorf("save: %w", p)
	assert.Same(t, p, parts.AsProblem(err))
	assert.Equal(t, "disk-full", parts.CodeOf(err))
	assert.True(t, errors.Is(err, io.ErrShortWrite), "the cause is there for the log")
	assert.Nil(t, parts.AsProblem(io.EOF))
	assert.Nil(t, parts.AsProblem(nil))
	assert.Empty(t, parts.CodeOf(io.EOF))
	assert.NotContains(t, p.Error(), "short write", "and not for the person")
	assert.Nil(t, stored(t, p).Err)
	assert.Equal(t, "The disk is full.", p.Error())
}
