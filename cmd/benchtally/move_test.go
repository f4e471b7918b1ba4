package main

import (
	"context"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// The demo's whole story is moved there and back by the command, and shows the
// same floor in each place.
func TestTheDemoIsMovedThereAndBack(t *testing.T) {
	if !shoptest.OnPostgres() {
		t.Skip("it moves to PostgreSQL")
	}
	ctx := context.Background()
	file, there, back := filepath.Join(t.TempDir(), "demo.db"), shoptest.DSN(t), filepath.Join(t.TempDir(), "back.db")
	clock := &storyClock{}
	b, err := bench.Open(ctx, file, bench.Options{Clock: clock.Now})
	require.NoError(t, err)
	require.NoError(t, tellStory(ctx, b, clock, "http://192.168.1.20:8080"))
	require.NoError(t, b.Close())
	for _, way := range [][2]string{{file, there}, {there, back}} {
		var out, said strings.Builder
		require.Equal(t, exitFine, run(ctx, []string{"move", "-from", way[0], "-to", way[1]}, &out, &said), said.String())
		assert.Contains(t, out.String(), "replayed on both sides without a difference")
	}
	floors := map[string][]string{}
	for _, dsn := range []string{file, there, back} {
		moved, err := bench.Open(ctx, dsn, bench.Options{})
		require.NoError(t, err)
		floors[dsn] = floorText(t, moved)
		require.NoError(t, moved.Close())
	}
	assert.NotEmpty(t, floors[file])
	assert.Equal(t, floors[file], floors[there])
	assert.Equal(t, floors[file], floors[back])
	assert.Equal(t, exitProblem, run(ctx, []string{"move", "-from", file, "-to", there}, new(strings.Builder), new(strings.Builder)), "there is a shop already")
	assert.Equal(t, exitUsage, run(ctx, []string{"move", "-from", file}, new(strings.Builder), new(strings.Builder)))
}
