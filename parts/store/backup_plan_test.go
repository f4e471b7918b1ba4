package store_test

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"benchtally/parts/store"
)

// plan keeps two daily backups of shop.db.
func plan(keep int) store.BackupPlan {
	return store.PlanBackups(filepath.Join("data", "shop.db"), "stick", 24*time.Hour, keep)
}

func TestWhichBackupsGo(t *testing.T) {
	tests := []struct {
		name  string
		files []string
		keep  int
		gone  []string
	}{
		{"none", nil, 2, nil},
		{"fewer than stay", []string{"shop-20260302T120000Z.db"}, 2, nil},
		{"as many as stay", []string{"shop-20260302T120000Z.db", "shop-20260303T120000Z.db"}, 2, nil},
		{"one too many, in any order", []string{"shop-20260304T120000Z.db", "shop-20260302T120000Z.db", "shop-20260303T120000Z.db"}, 2, []string{"shop-20260302T120000Z.db"}},
		{"three too many", []string{"shop-20260304T120000Z.db", "shop-20260304T120001Z.db", "shop-20251231T235959Z.db", "shop-20260101T000000Z.db"}, 1,
			[]string{"shop-20251231T235959Z.db", "shop-20260101T000000Z.db", "shop-20260304T120000Z.db"}},
		{"what was broken off goes", []string{"shop-20260302T120000Z.db.part", "shop-20260303T120000Z.db"}, 2, []string{"shop-20260302T120000Z.db.part"}},
		{"what others wrote stays", []string{"shop.db", "shop-monday.db", "shop-20260302T120000Z.db.bak", "shop-20260302.db", "photos.zip", "shop-20269902T120000Z.db",
			"shop-20260303T120000Z.db", "shop-20260304T120000Z.db"}, 1, []string{"shop-20260303T120000Z.db"}},
		{"another shop's stay", []string{"boats-20260301T120000Z.db", "shop-old-20260301T120000Z.db", "shop-20260303T120000Z.db", "shop-20260304T120000Z.db"}, 1, []string{"shop-20260303T120000Z.db"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.gone, plan(tt.keep).Expired(tt.files)) })
	}
}

func TestTheNewestBackup(t *testing.T) {
	tests := []struct {
		name   string
		files  []string
		newest string
	}{
		{"none", []string{"mine.db", "shop-monday.db"}, ""},
		{"in any order", []string{"shop-20260301T060000Z.db", "shop-20260302T060000Z.db", "shop-20260228T060000Z.db"}, "shop-20260302T060000Z.db"},
		{"neither a broken-off one, nor of the future, nor another shop's", []string{"shop-20260301T060000Z.db", "shop-20260302T060000Z.db.part", "shop-20300101T000000Z.db",
			"boats-20260302T060000Z.db"}, "shop-20260301T060000Z.db"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			newest, _ := plan(2).Newest(tt.files, noon)
			assert.Equal(t, tt.newest, newest)
		})
	}
	_, at := plan(2).Newest([]string{"shop-20260302T060000Z.db"}, noon)
	assert.Equal(t, noon.Add(-6*time.Hour), at)
}

func TestWhenABackupIsDue(t *testing.T) {
	tests := []struct {
		name  string
		files []string
		in    time.Duration
	}{
		{"none yet", nil, 0},
		{"the newest is an hour old", []string{"shop-20260301T090000Z.db", "shop-20260302T110000Z.db"}, 23 * time.Hour},
		{"the newest is exactly a day old", []string{"shop-20260301T120000Z.db"}, 0},
		{"the newest is a week old", []string{"shop-20260223T120000Z.db"}, 0},
		{"one that was broken off does not count", []string{"shop-20260302T110000Z.db.part"}, 0},
		{"nor one of another shop", []string{"boats-20260302T110000Z.db"}, 0},
		{"nor one of the future", []string{"shop-20300101T000000Z.db"}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, noon.Add(tt.in), plan(2).Next(tt.files, noon)) })
	}
}

func TestABackupsNameIsItsTime(t *testing.T) {
	name := plan(2).Name(noon.In(time.FixedZone("", 3600)))
	assert.Equal(t, filepath.Join("stick", "shop-20260302T120000Z.db"), name, "in UTC, whatever the zone")
	assert.Equal(t, noon.Add(24*time.Hour), plan(2).Next([]string{filepath.Base(name)}, noon), "it knows its own again")
}
