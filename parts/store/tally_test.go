package store_test

import (
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestCommitsAreCountedByTheirSize(t *testing.T) {
	s := openShop(t)
	before := s.Tally()
	entered, goOn := make(chan struct{}), make(chan struct{})
	var all sync.WaitGroup
	all.Go(func() {
		assert.NoError(t, s.Turn(true, func(any) error { close(entered); <-goOn; return nil }))
	})
	<-entered // the writer is held: what comes now is saved together
	for range 5 {
		all.Go(func() { assert.NoError(t, s.Turn(false, func(any) error { return nil })) })
	}
	require.Eventually(t, func() bool { return s.Waiting() == 5 }, 20*time.Second, time.Millisecond)
	close(goOn)
	all.Wait()
	after := s.Tally()
	since := func(bound float64) uint64 { return after.Groups.UpTo[bound] - before.Groups.UpTo[bound] }
	assert.Equal(t, []uint64{1, 1, 2, 2}, []uint64{since(1), since(2), since(8), since(128)}, "one that was alone and one of five")
	assert.Equal(t, uint64(2), after.Groups.Count-before.Groups.Count)
	assert.Equal(t, 6.0, after.Groups.Sum-before.Groups.Sum)
	assert.Equal(t, after.Groups.Count, after.Seconds.Count)
	assert.Greater(t, after.Seconds.Sum, before.Seconds.Sum)
}
