package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"gorm.io/gorm/clause"
)

// folderSetting is the setting that says where backups went last, for those who
// look for one when no server runs.
const folderSetting = "backup_folder"

// Kept is a backup that is in its folder.
type Kept struct {
	File string // "" for none
	At   time.Time
	Size int64 // in bytes
}

// Look gives the names of the shop's backups in the plan's folder, which need
// not be there yet, and the newest one that is whole. origin is the shop's
// Origin: two shops may have files of one name and share a folder.
func (p BackupPlan) Look(ctx context.Context, origin string, now time.Time) (names []string, newest Kept, err error) {
	entries, err := os.ReadDir(p.Folder)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, newest, fmt.Errorf("look into the folder of the backups: %w", err)
	}
	for _, e := range entries {
		if e.Type().IsRegular() && p.isOf(ctx, origin, e.Name(), now) {
			names = append(names, e.Name())
		}
	}
	for {
		name, at := p.Newest(names, now)
		if name == "" {
			return names, newest, nil
		}
		file := filepath.Join(p.Folder, name)
		info, err := os.Stat(file)
		wrong, damage := wrongPages(file)
		if err = errors.Join(err, damage); err != nil {
			return names, newest, fmt.Errorf("look at the newest backup: %w", err)
		}
		if len(wrong) == 0 {
			return names, Kept{File: file, At: at, Size: info.Size()}, nil
		}
		names = slices.DeleteFunc(names, func(n string) bool { return n == name }) // it is no backup any more
	}
}

// asItIs opens a file that nobody writes, and leaves nothing beside it.
const asItIs = "mode=ro&immutable=1"

// anyShop is the origin of a shop whose file cannot say it.
const anyShop = "any"

// isOf reports whether a file is a backup of the shop, or what one that was
// broken off more than a day ago has left: a younger one may be in the making.
func (p BackupPlan) isOf(ctx context.Context, origin, name string, now time.Time) bool {
	made, whole, ours := p.made(name)
	if !ours || !whole {
		return ours && now.Sub(made) > 24*time.Hour
	}
	if origin == anyShop {
		return true
	}
	of, err := originOf(ctx, filepath.Join(p.Folder, name), asItIs)
	return err == nil && of == origin
}

// RememberFolder keeps where backups go.
func (s *Store) RememberFolder(ctx context.Context, folder string) error {
	whole, err := filepath.Abs(folder)
	if err != nil {
		return fmt.Errorf("keep where backups go: %w", err)
	}
	if known, err := folderIn(s.read.DB); err == nil && known == whole {
		return nil
	}
	return s.run(ctx, true, func(t *tx) error {
		if err := t.gorm().Clauses(clause.OnConflict{UpdateAll: true}).Create(&settingRow{folderSetting, whole}).Error; err != nil {
			return fmt.Errorf("keep where backups go: %w", err)
		}
		return nil
	})
}

// folderIn reads where backups went, "" when nobody said.
func folderIn(db *sql.DB) (folder string, err error) {
	err = db.QueryRow("SELECT value FROM settings WHERE key = ?", folderSetting).Scan(&folder)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return folder, err
}

// newestBackup is the newest whole backup of the shop that can be found, as it
// is typed: in the folder that was planned, or the one that the file, damaged as
// it may be, still remembers. One that somebody put there under a name of their
// own counts when more had happened by then. It is "" when none is found.
func (s *Store) newestBackup() string {
	folder := s.backups
	if folder == "" {
		folder = s.remembered()
	}
	if folder == "" {
		return ""
	}
	ctx := context.Background()
	origin, err := originOf(ctx, s.file, "mode=ro")
	if err != nil {
		origin = anyShop
	}
	_, newest, err := PlanBackups(s.file, folder, 0, 0).Look(ctx, origin, s.Now())
	if err != nil || origin == anyShop && newest.File == "" {
		return ""
	}
	if origin == anyShop { // then it is that of the backup
		if origin, err = originOf(ctx, newest.File, asItIs); err != nil {
			return typed(newest.File)
		}
	}
	return typed(s.fuller(ctx, folder, origin, newest.File))
}

// fuller is the whole backup of the shop with the most events in a folder, by
// whatever name, or the one that is known.
func (s *Store) fuller(ctx context.Context, folder, origin, known string) string {
	most := lastEventIn(known)
	mine, _ := os.Stat(s.file)
	files, _ := filepath.Glob(filepath.Join(folder, "*.db"))
	for _, file := range files {
		if info, err := os.Stat(file); err != nil || os.SameFile(info, mine) {
			continue
		}
		if of, err := originOf(ctx, file, asItIs); err != nil || of != origin {
			continue
		}
		if wrong, err := wrongPages(file); err != nil || len(wrong) > 0 {
			continue
		}
		if last := lastEventIn(file); last > most {
			known, most = file, last
		}
	}
	return known
}

// lastEventIn is the number of the last event in a backup, 0 for none.
func lastEventIn(file string) (last int64) {
	if file == "" {
		return 0
	}
	db, err := openFile(file, asItIs)
	if err != nil {
		return 0
	}
	defer db.Close()
	if err := db.QueryRow("SELECT coalesce(max(id), 0) FROM events").Scan(&last); err != nil {
		return 0
	}
	return last
}

// remembered is the folder that the file remembers, "" when it cannot be read.
func (s *Store) remembered() string {
	db, err := openFile(s.file, "mode=ro")
	if err != nil {
		return ""
	}
	defer db.Close()
	folder, err := folderIn(db)
	if err != nil {
		return ""
	}
	return folder
}

// typed is a file's name as a command line takes it.
func typed(file string) string {
	if strings.ContainsAny(file, " '&()[]{};$`*?!<>|") {
		return `"` + file + `"`
	}
	return file
}
