package store

import (
	"context"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
)

// The first command of a shop's log names the shop: it is unlike any other
// shop's, never changed, and in every backup.
const firstCommand = `SELECT command FROM events ORDER BY id LIMIT 1`

// Origin names the shop; it is "" while nothing has happened in it.
func (s *Store) Origin(ctx context.Context) (string, error) {
	return originIn(ctx, s.read.DB)
}

// originOf is Origin of the shop in a file that nobody writes.
func originOf(ctx context.Context, file, how string) (string, error) {
	db, err := openFile(file, how)
	if err != nil {
		return "", err
	}
	defer db.Close()
	return originIn(ctx, db)
}

func originIn(ctx context.Context, db *sql.DB) (string, error) {
	var first []byte
	err := db.QueryRowContext(ctx, firstCommand).Scan(&first)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return "", fmt.Errorf("read whose shop it is: %w", err)
	}
	return hex.EncodeToString(first), nil
}
