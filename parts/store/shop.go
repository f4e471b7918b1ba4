package store

import (
	"context"
	"fmt"
	"strconv"

	"gorm.io/gorm/clause"

	"benchtally/parts"
)

// settingRow is a row of settings.
type settingRow struct {
	Key   string `gorm:"primaryKey"`
	Value string
}

func (settingRow) TableName() string { return "settings" }

// Settings gives what the shop says once, with sensible values for what it
// has not said yet. Address is empty until it is known.
func (s *Store) Settings(ctx context.Context) (parts.Settings, error) {
	set := parts.Settings{Shop: "The shop", Zone: "UTC", Unit: "in", Denominator: 32, Paper: "letter", Sheet: "letter-3x10"}
	rows, err := s.read.QueryContext(ctx, "SELECT key, value FROM settings")
	if err != nil {
		return set, fmt.Errorf("read the settings: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		var key, value string
		if err := rows.Scan(&key, &value); err != nil {
			return set, fmt.Errorf("read a setting: %w", err)
		}
		switch key {
		case "shop":
			set.Shop = value
		case "zone":
			set.Zone = value
		case "unit":
			set.Unit = parts.Unit(value)
		case "denominator":
			if n, err := strconv.Atoi(value); err == nil {
				set.Denominator = n
			}
		case "address":
			set.Address = value
		case "address_guessed":
			set.Guessed = value == "yes"
		case "paper":
			set.Paper = value
		case "sheet":
			set.Sheet = value
		case "batches":
			set.Batches = value == "1"
		}
	}
	return set, rows.Err()
}

// SaveSettings keeps what the shop says.
func (s *Store) SaveSettings(ctx context.Context, set parts.Settings) error {
	rows := []settingRow{
		{"shop", set.Shop}, {"zone", set.Zone}, {"unit", string(set.Unit)}, {"denominator", strconv.Itoa(set.Denominator)},
		{"address", set.Address}, {"address_guessed", yesNo(set.Guessed)}, {"paper", set.Paper}, {"sheet", set.Sheet},
		{"batches", strconv.Itoa(flag(set.Batches))},
	}
	return s.run(ctx, true, func(t *tx) error {
		if err := t.gorm().Clauses(clause.OnConflict{UpdateAll: true}).Create(&rows).Error; err != nil {
			return fmt.Errorf("keep the settings: %w", err)
		}
		return nil
	})
}

func yesNo(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

// stationRow is a row of stations.
type stationRow struct {
	Key     string `gorm:"primaryKey"`
	Name    string
	Caution string
	Place   int
}

func (stationRow) TableName() string { return "stations" }

// Stations gives the shop's stations in the order of its floor.
func (s *Store) Stations(ctx context.Context) ([]parts.StationRow, error) {
	rows, err := s.read.QueryContext(ctx, "SELECT key, name, caution, place FROM stations ORDER BY place, key")
	if err != nil {
		return nil, fmt.Errorf("read the stations: %w", err)
	}
	defer rows.Close()
	var out []parts.StationRow
	for rows.Next() {
		var st parts.StationRow
		if err := rows.Scan(&st.Key, &st.Name, &st.Caution, &st.Place); err != nil {
			return nil, fmt.Errorf("read a station: %w", err)
		}
		out = append(out, st)
	}
	return out, rows.Err()
}

// SaveStation adds a station or changes what is said of one.
func (s *Store) SaveStation(ctx context.Context, st parts.StationRow) error {
	row := stationRow{string(st.Key), st.Name, st.Caution, st.Place}
	return s.run(ctx, true, func(t *tx) error {
		if err := t.gorm().Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error; err != nil {
			return fmt.Errorf("keep station %s: %w", st.Key, err)
		}
		return nil
	})
}
