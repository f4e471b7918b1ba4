package bench

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"benchtally/parts/store"
)

// soonAgain is how long after a failed backup the next one is tried.
const soonAgain = 10 * time.Minute

// Backup copies the shop into the new file to, while work goes on, and checks
// the copy. It says what is in it.
func (b *Bench) Backup(ctx context.Context, to string) (store.Books, error) {
	return b.store.Backup(ctx, to)
}

// Explain gives the sentence for a fault of the disk or of the shop's file.
func (b *Bench) Explain(err error) error { return b.store.Explain(err) }

// PlanBackups is the plan by which the shop in file is backed up into a
// folder: every so often, and the newest keep stay.
func PlanBackups(file, folder string, every time.Duration, keep int) store.BackupPlan {
	return store.PlanBackups(file, folder, every, keep)
}

// KeepBackups makes a backup whenever the plan wants one, the first at once if
// there is none young enough, until ctx is done. done hears of each. One that was
// made before anything had happened in the shop is none: the next comes with the
// first thing that happens.
func (b *Bench) KeepBackups(ctx context.Context, plan store.BackupPlan, done func(file string, err error)) {
	changed, stop := b.Watch()
	defer stop()
	var failed time.Time
	b.backups.plan(plan, b.Now())
	for {
		names, newest, untouched, err := b.lookAtBackups(ctx, plan)
		b.backups.found(newest)
		next := plan.Next(names, b.Now())
		if again := failed.Add(min(soonAgain, plan.Every)); !failed.IsZero() && again.After(next) {
			next = again
		}
		var touched <-chan struct{}
		if untouched {
			touched = changed
		}
		select {
		case <-ctx.Done():
			return
		case <-touched:
			continue
		case <-time.After(next.Sub(b.Now())):
		}
		file := plan.Name(b.Now())
		if err == nil {
			err = b.backUp(ctx, plan, file)
		}
		if ctx.Err() != nil {
			return // the server is stopping: that is no failure
		}
		failed = time.Time{}
		if err != nil {
			failed = b.Now()
		}
		b.store.NoteBackup(err)
		done(file, err)
	}
}

// backUp makes one backup of the plan, and removes those that it no longer
// keeps. Where it went is kept in the shop first, so in the backup too.
func (b *Bench) backUp(ctx context.Context, plan store.BackupPlan, file string) error {
	_ = b.store.RememberFolder(ctx, plan.Folder) // a shop whose own disk is full wants its backup all the more
	if _, err := b.store.Backup(ctx, file); err != nil {
		return err
	}
	names, newest, _, err := b.lookAtBackups(ctx, plan)
	if err != nil {
		return err
	}
	b.backups.found(newest)
	for _, name := range plan.Expired(names) {
		if err := os.Remove(filepath.Join(plan.Folder, name)); err != nil {
			return fmt.Errorf("remove an old backup: %w", err)
		}
	}
	return nil
}

// lookAtBackups gives what the plan has made of this shop, in which nothing may
// have happened yet.
func (b *Bench) lookAtBackups(ctx context.Context, plan store.BackupPlan) (names []string, newest store.Kept, untouched bool, err error) {
	origin, err := b.store.Origin(ctx)
	if err != nil {
		return nil, newest, false, err
	}
	names, newest, err = plan.Look(ctx, origin, b.Now())
	return names, newest, origin == "", err
}

// Restore puts a backup in the place of the shop's file; see store.Restore.
func Restore(ctx context.Context, file, from string, replace bool, o Options) (store.Restored, error) {
	opened, err := o.store()
	if err != nil {
		return store.Restored{}, err
	}
	now := time.Now
	if o.Clock != nil {
		now = o.Clock
	}
	return store.Restore(ctx, file, from, replace, now(), opened)
}
