package bench_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// kept runs the plan until it says that a backup was made or failed, or until
// nothing is due.
func kept(t *testing.T, b *bench.Bench, plan store.BackupPlan, due bool) {
	t.Helper()
	running, stop := context.WithCancel(t.Context())
	heard, ended := make(chan error, 1), make(chan struct{})
	go func() {
		defer close(ended)
		b.KeepBackups(running, plan, func(_ string, err error) { heard <- err })
	}()
	if due {
		<-heard
	} else {
		require.Eventually(t, func() bool { return b.Backups().Newest.File != "" }, 20*time.Second, time.Millisecond)
	}
	stop()
	<-ended
}

func TestWhatIsKnownOfTheBackups(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL has tools of its own")
	clock := shoptest.NewClock()
	b := shoptest.Open(t, clock)
	assert.Empty(t, b.Backups().Plan.Folder, "none are planned")
	folder := filepath.Join(t.TempDir(), "stick")
	plan := bench.PlanBackups("shop.db", folder, 24*time.Hour, 3)

	kept(t, b, plan, true)
	known := b.Backups()
	assert.Equal(t, folder, known.Plan.Folder)
	assert.Empty(t, known.Newest.File)
	require.NotNil(t, known.Failed, "the folder is not there")
	assert.Contains(t, known.Failed.Error(), "The folder "+folder+" is not there.")

	require.NoError(t, os.Mkdir(folder, 0o755))
	kept(t, b, plan, true)
	made := b.Backups()
	assert.Nil(t, made.Failed)
	assert.Equal(t, shoptest.Noon, made.Newest.At)
	info, err := os.Stat(made.Newest.File)
	require.NoError(t, err)
	assert.Equal(t, info.Size(), made.Newest.Size)

	clock.Pass(time.Hour)
	again := shoptest.Open(t, clock) // as after a restart
	kept(t, again, plan, false)
	assert.Equal(t, made.Newest, again.Backups().Newest)
	assert.Empty(t, again.Conditions())
	clock.Pass(48*time.Hour - time.Minute)
	assert.Empty(t, again.Conditions(), "twice its time since the server began")
	clock.Pass(2 * time.Minute)
	require.Len(t, again.Conditions(), 1)
	assert.Equal(t, "backup-late", again.Conditions()[0].Code)
	assert.False(t, again.Conditions()[0].Stops())
}

func TestTheFirstThingThatHappensIsBackedUp(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL has tools of its own")
	clock := shoptest.NewClock()
	b := shoptest.Open(t, clock)
	running, stop := context.WithCancel(t.Context())
	heard, ended := make(chan error), make(chan struct{})
	go func() {
		defer close(ended)
		b.KeepBackups(running, bench.PlanBackups("shop.db", t.TempDir(), 24*time.Hour, 3), func(_ string, err error) { heard <- err })
	}()
	require.NoError(t, <-heard, "of the empty shop")
	clock.Pass(time.Minute)
	_, err := b.AddCart(t.Context(), shoptest.NewID(), "Cart 1", "Ann")
	require.NoError(t, err)
	require.NoError(t, <-heard)
	assert.Equal(t, shoptest.Noon.Add(time.Minute), b.Backups().Newest.At, "the day is long")
	stop()
	<-ended
}
