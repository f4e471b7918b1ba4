package server

import (
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"golang.org/x/time/rate"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

var errWrong = errors.New("wrong")

func TestOnlyWrongTriesCount(t *testing.T) {
	p := newPatience(rate.Every(30*time.Second), 10)
	now := shoptest.Noon
	for range 100 {
		assert.NoError(t, p.try("a", now, func() error { return nil }))
	}
	for range 10 {
		assert.Equal(t, errWrong, p.try("a", now, func() error { return errWrong }))
	}
	asked := false
	err := p.try("a", now, func() error { asked = true; return nil })
	assert.Equal(t, "too-many", parts.CodeOf(err))
	assert.False(t, asked, "the secret is not even looked at")
	assert.NoError(t, p.try("b", now, func() error { return nil }), "others are not kept waiting")
	assert.Equal(t, "too-many", parts.CodeOf(p.try("a", now.Add(29*time.Second), func() error { return nil })))
	assert.NoError(t, p.try("a", now.Add(30*time.Second), func() error { return nil }))
}

func TestManyTriesAtOnceCountToo(t *testing.T) {
	p := newPatience(rate.Every(30*time.Second), 10)
	var tried atomic.Int64
	var all sync.WaitGroup
	for range 200 {
		all.Go(func() {
			p.try("a", shoptest.Noon, func() error { tried.Add(1); time.Sleep(time.Millisecond); return errWrong })
		})
	}
	all.Wait()
	assert.Equal(t, int64(10), tried.Load())
}

func TestPatienceForgets(t *testing.T) {
	p := newPatience(rate.Every(30*time.Second), 10)
	for i := range 3 * mostPatience {
		p.try(fmt.Sprint(i), shoptest.Noon, func() error { return errWrong })
		assert.LessOrEqual(t, len(p.keys), mostPatience)
	}
	p.try("one more", shoptest.Noon.Add(time.Hour), func() error { return errWrong })
}

func TestOnePaceForEach(t *testing.T) {
	p := newPatience(300, 600)
	for range 600 {
		assert.NoError(t, p.ask("a", shoptest.Noon))
	}
	assert.Equal(t, "too-fast", parts.CodeOf(p.ask("a", shoptest.Noon)))
	assert.NoError(t, p.ask("b", shoptest.Noon))
	assert.NoError(t, p.ask("a", shoptest.Noon.Add(time.Second/300)))
}
