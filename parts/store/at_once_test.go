package store_test

import (
	"bytes"
	"runtime/debug"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// goroutine names the one that asks.
func goroutine() string {
	name, _, _ := bytes.Cut(debug.Stack(), []byte(" ["))
	return string(name)
}

func TestWhoIsAloneWritesByThemselves(t *testing.T) {
	shoptest.NeedSQLite(t, "on PostgreSQL the writer does it")
	s := openShop(t)
	decidedBy := func() (name string) {
		c := command("scan")
		c.Subject = s.marks[0]
		_, err := s.Change(ctx, c, func(v parts.View, person int64) (store.Decision, error) {
			name = goroutine()
			return bored(v, person)
		})
		require.NoError(t, err)
		return name
	}
	s.Desk()() // the writer has made the shop, and leaves
	assert.Equal(t, goroutine(), decidedBy())
	var asking, deciding string
	done := make(chan bool)
	s.asked(func() { go func() { asking, deciding = goroutine(), decidedBy(); close(done) }() })
	<-done
	assert.NotEqual(t, asking, deciding, "somebody was at the desk")
	assert.Equal(t, 3, s.state(s.marks[0]).Seq)
	s.balanced()
}

func TestWhoWritesByThemselvesIsDoneBeforeClosing(t *testing.T) {
	s := openShop(t)
	started, let, answered, closed := make(chan bool), make(chan bool), make(chan error), make(chan error)
	go func() {
		c := command("scan")
		c.Subject = s.marks[0]
		_, err := s.Change(ctx, c, func(v parts.View, person int64) (store.Decision, error) {
			started <- true
			<-let
			return bored(v, person)
		})
		answered <- err
	}()
	<-started
	go func() { closed <- s.Close() }()
	select {
	case <-closed:
		t.Error("closed while somebody wrote")
	case <-time.After(50 * time.Millisecond):
	}
	let <- true
	require.NoError(t, <-answered)
	require.NoError(t, <-closed)
	_, err := s.bore(s.marks[0])
	assert.Equal(t, "closing", parts.CodeOf(err))
	s.Store = s.open()
	assert.Equal(t, 2, s.state(s.marks[0]).Seq)
	s.balanced()
}
