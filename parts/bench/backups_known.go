package bench

import (
	"path/filepath"
	"slices"
	"sync"
	"time"

	"benchtally/parts"
	"benchtally/parts/store"
)

// Backups is what the server knows of the backups that it makes by itself.
type Backups struct {
	Plan   store.BackupPlan // its Folder is "" when none are planned
	Newest store.Kept       // that is good; its File is "" for none
	Failed *store.Condition // why the last one failed; nil when it did not
}

// Backups says what is known. It looks into no folder: the disk of one may hang.
func (b *Bench) Backups() Backups {
	known := b.backups.now()
	all := b.store.Conditions()
	if i := slices.IndexFunc(all, func(c store.Condition) bool { return c.Code == "backup-failed" }); i >= 0 {
		known.Failed = &all[i]
	}
	return known
}

// OnDatabase reports whether the shop is in a database with backups of its own.
func (b *Bench) OnDatabase() bool { return b.store.OnPostgres() }

// Conditions says what keeps the shop from being saved or backed up now.
func (b *Bench) Conditions() []store.Condition {
	all := b.store.Conditions()
	late := b.backups.late(b.Now())
	if late != nil && !slices.ContainsFunc(all, func(c store.Condition) bool { return c.Code == "backup-failed" }) {
		all = append(all, *late)
	}
	return all
}

// backupBook remembers the plan of the backups and the newest one.
type backupBook struct {
	mu     sync.Mutex
	known  Backups
	waited time.Time // since when there might have been a newer one
}

// plan begins with a plan, and says its folder in full.
func (k *backupBook) plan(p store.BackupPlan, now time.Time) {
	if whole, err := filepath.Abs(p.Folder); err == nil {
		p.Folder = whole
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.known, k.waited = Backups{Plan: p}, now
}

// found notes the newest backup that is in the folder. When the folder is not
// there, what was known stays true.
func (k *backupBook) found(newest store.Kept) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if newest.File == "" {
		return
	}
	k.known.Newest = newest
	if newest.At.After(k.waited) {
		k.waited = newest.At
	}
}

func (k *backupBook) now() Backups {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.known
}

// late is the condition of backups that have stopped coming without one that
// failed: one hangs, or the computer slept. It holds after twice their time.
func (k *backupBook) late(now time.Time) *store.Condition {
	k.mu.Lock()
	defer k.mu.Unlock()
	due := k.waited.Add(2 * k.known.Plan.Every)
	if k.known.Plan.Folder == "" || !now.After(due) {
		return nil
	}
	return &store.Condition{Since: due, Problem: parts.Problemf(parts.Busy, "backup-late", "No backup has been made for a long time.").
		Next("Look at the folder %s: does its disk answer? Then start the server again.", k.known.Plan.Folder)}
}
