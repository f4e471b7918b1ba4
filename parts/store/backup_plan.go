package store

import (
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"
)

// BackupPlan says where backups go by themselves, and which of them stay.
type BackupPlan struct {
	Folder string
	Every  time.Duration
	Keep   int    // how many of the newest stay
	Shop   string // begins their names, so that two shops may share a folder
}

// PlanBackups is the plan for the shop's file.
func PlanBackups(file, folder string, every time.Duration, keep int) BackupPlan {
	return BackupPlan{folder, every, keep, strings.TrimSuffix(filepath.Base(file), filepath.Ext(file))}
}

// stamped is the time in a backup's name.
var stamped = regexp.MustCompile(`^-(\d{8}T\d{6}Z)\.db(\.part)?$`)

// Name is the file of the backup that is made now.
func (p BackupPlan) Name(now time.Time) string {
	return filepath.Join(p.Folder, p.Shop+"-"+Stamp(now)+".db")
}

// made reads when a file of the plan was made. Any other file is not ours.
func (p BackupPlan) made(name string) (at time.Time, whole, ours bool) {
	rest, found := strings.CutPrefix(name, p.Shop)
	m := stamped.FindStringSubmatch(rest)
	if !found || m == nil {
		return at, false, false
	}
	at, err := time.Parse("20060102T150405Z", m[1])
	return at, m[2] == "", err == nil
}

// Newest gives the youngest of the plan's backups by the names in the folder,
// "" for none. A backup of the future is of a clock that was wrong, and does not
// count.
func (p BackupPlan) Newest(names []string, now time.Time) (newest string, at time.Time) {
	for _, name := range names {
		if made, whole, ours := p.made(name); ours && whole && !made.After(now) && made.After(at) {
			newest, at = name, made
		}
	}
	return newest, at
}

// Next is when the next backup is due, given the names in the folder: now when
// there is none, or none as young as the plan wants.
func (p BackupPlan) Next(names []string, now time.Time) time.Time {
	_, at := p.Newest(names, now)
	if next := at.Add(p.Every); next.After(now) {
		return next
	}
	return now
}

// Expired names the files of the plan that go: all but the newest Keep, and
// what a broken-off backup left.
func (p BackupPlan) Expired(names []string) []string {
	var whole, gone []string
	for _, name := range names {
		switch _, isWhole, ours := p.made(name); {
		case ours && isWhole:
			whole = append(whole, name)
		case ours:
			gone = append(gone, name)
		}
	}
	slices.Sort(whole) // the stamp sorts by time
	return append(gone, whole[:max(0, len(whole)-p.Keep)]...)
}
