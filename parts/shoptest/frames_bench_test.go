package shoptest_test

import (
	"testing"

	"benchtally/parts/shoptest"
)

// BenchmarkFloor is the two floors that other benchmarks are held against.
func BenchmarkFloor(b *testing.B) {
	b.Run("frames", func(b *testing.B) {
		write := shoptest.Frames(b)
		for b.Loop() {
			write()
		}
	})
	b.Run("row", func(b *testing.B) {
		commit := shoptest.Commits(b)
		for b.Loop() {
			commit()
		}
	})
}
