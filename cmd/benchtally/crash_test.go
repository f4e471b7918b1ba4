package main

import (
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// clients is how many scan at a time while the server is killed.
const clients = 32

// The real server is killed under load, again and again. Whatever it answered
// is there once; what it did not answer is sent again and is there once then.
// A kill does not lose what the system was given, so this says nothing of
// power cuts: TestPowerCut does.
func TestCrash(t *testing.T) {
	bin := program(t)
	rounds, random := seeds(t, 20, 100)
	for first := 0; first < rounds; first += 20 { // a new shop now and then, so that checks stay quick
		db := largeShop(t, 2000)
		c := crewOf(t, db, clients)
		for round := first; round < min(rounds, first+20); round++ {
			p := launches(t, bin, "serve", "-db", db, "-addr", "127.0.0.1:0", "-name=")
			wait := time.Duration(random(round).IntN(300)) * time.Millisecond
			time.AfterFunc(wait, func() { p.cmd.Process.Signal(syscall.SIGKILL) })
			c.work(p.address, nil)
			p.ends()
			c.nothingRefused(t)
			require.Contains(t, fine(t, "check", "-db", db), " 0 differences.")
			c.onceEach(t, db)
		}
		c.finishes(t, bin, db)
	}
}

// onceEach asks whether every acknowledged deed is in the file once, and no
// deed twice.
func (c *crew) onceEach(t *testing.T, db string) (acked int) {
	t.Helper()
	recorded := recordedIn(t, db)
	for id, d := range c.all() {
		if d.acked {
			acked++
			require.Equal(t, 1, recorded[id], "%s was acknowledged", d.body)
		}
		require.LessOrEqual(t, recorded[id], 1, "%s", d.body)
	}
	return acked
}

// finishes sends what is left to a server that stops in good order.
func (c *crew) finishes(t *testing.T, bin, db string) {
	t.Helper()
	p := launches(t, bin, "serve", "-db", db, "-addr", "127.0.0.1:0", "-name=")
	stop := make(chan struct{})
	close(stop)
	c.work(p.address, stop)
	require.NoError(t, p.cmd.Process.Signal(syscall.SIGTERM))
	require.NoError(t, p.ends(), "%s", p.stderr)
	require.NoFileExists(t, db+"-wal", "a server that was stopped leaves one file")
	require.Equal(t, len(c.all()), c.onceEach(t, db), "all is acknowledged now")
	t.Logf("%d deeds, each there once", len(c.all()))
}
