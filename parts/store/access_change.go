package store

import (
	"context"
	"database/sql"
	"fmt"
	"strings"
	"time"

	"benchtally/parts/access"
)

// SignOn says who uses a device from now on; 0 is nobody.
func (s *Store) SignOn(ctx context.Context, device, person int64) error {
	return s.office(ctx, func(t *tx) error {
		if err := t.exec("UPDATE devices SET person = ? WHERE id = ?", person, device); err != nil {
			return fmt.Errorf("sign on to phone %d: %w", device, err)
		}
		return t.signedOn(device, person)
	})
}

// Lend gives a device the rights of an owner until a moment; the zero time
// takes them back.
func (s *Store) Lend(ctx context.Context, device, owner int64, until time.Time) error {
	return s.changeOne(ctx, "lend an owner's rights", "UPDATE devices SET owner = ?, owner_until = ? WHERE id = ?", owner, milliseconds(until), device)
}

// Touch keeps when a device was used last.
func (s *Store) Touch(ctx context.Context, device int64, used time.Time) error {
	return s.changeOne(ctx, "keep when a phone was used", "UPDATE devices SET used = ? WHERE id = ? AND used < ?", milliseconds(used), device, milliseconds(used))
}

// TouchToken keeps when a token was used last.
func (s *Store) TouchToken(ctx context.Context, secret []byte, used time.Time) error {
	return s.changeOne(ctx, "keep when a token was used", "UPDATE tokens SET used = ? WHERE hash = ? AND used < ?", milliseconds(used), secret, milliseconds(used))
}

// EndDevice takes a device out of the shop.
func (s *Store) EndDevice(ctx context.Context, device int64, now time.Time) error {
	return s.changeOne(ctx, "take a phone out", "UPDATE devices SET ended = ? WHERE id = ? AND ended = 0", milliseconds(now), device)
}

// EndToken takes a token back.
func (s *Store) EndToken(ctx context.Context, secret []byte, now time.Time) error {
	return s.changeOne(ctx, "take a token back", "UPDATE tokens SET ended = ? WHERE hash = ? AND ended = 0", milliseconds(now), secret)
}

// EndInvite takes a link back.
func (s *Store) EndInvite(ctx context.Context, hash []byte, now time.Time) error {
	return s.changeOne(ctx, "take a link back", "UPDATE invites SET ended = ? WHERE hash = ? AND ended = 0", milliseconds(now), hash)
}

// AddToken keeps a token for programs.
func (s *Store) AddToken(ctx context.Context, k access.Token) error {
	var scopes []string
	for _, scope := range k.Scopes {
		scopes = append(scopes, string(scope))
	}
	return s.changeOne(ctx, "keep a token", "INSERT INTO tokens (hash, name, scopes, created, used, ended) VALUES (?, ?, ?, ?, 0, 0)",
		k.Secret, k.Name, strings.Join(scopes, ","), milliseconds(k.Made))
}

// RenamePerson writes another name for a person; the log knows people by
// number and stays as it is.
func (s *Store) RenamePerson(ctx context.Context, person int64, name string) error {
	return s.changeOne(ctx, "rename somebody", "UPDATE people SET name = ? WHERE id = ?", name, person)
}

// eraseNoted takes a name out of what was noted of people.
const eraseNoted = "UPDATE changes SET detail = replace(detail, ?, ?) WHERE what IN ('POST /people', 'POST /badges', 'POST /people/:person', 'benchtally owner')"

// ErasePerson takes away all that is kept of a person but the number: the
// name, what they signed on with, and the phones they are signed on to.
func (s *Store) ErasePerson(ctx context.Context, person int64, instead string) error {
	return s.office(ctx, func(t *tx) error {
		var name string
		if err := t.row("SELECT name FROM people WHERE id = ?", []any{person}, &name); err != nil {
			return fmt.Errorf("read person %d: %w", person, err)
		}
		for query, args := range map[string][]any{
			eraseNoted: {name, instead},
			"UPDATE people SET name = ? WHERE id = ?":        {instead, person},
			"DELETE FROM accounts WHERE person = ?":          {person},
			"DELETE FROM sign_ons WHERE person = ?":          {person},
			"UPDATE devices SET person = 0 WHERE person = ?": {person},
			endLent: {person},
		} {
			if err := t.exec(query, args...); err != nil {
				return fmt.Errorf("erase person %d: %w", person, err)
			}
		}
		return nil
	})
}

// changeOne runs one statement in the writer.
func (s *Store) changeOne(ctx context.Context, what, query string, args ...any) error {
	return s.office(ctx, func(t *tx) error {
		if err := t.exec(query, args...); err != nil {
			return fmt.Errorf("%s: %w", what, err)
		}
		return nil
	})
}

// Note writes a line of the book of changes.
func (s *Store) Note(ctx context.Context, c access.Change) error {
	return s.changeOne(ctx, "note a change", "INSERT INTO changes (at, person, device, token, what, detail) VALUES (?, ?, ?, ?, ?, ?)",
		milliseconds(c.At), c.Person, c.Device, c.Token, c.What, c.Detail)
}

// Changes gives the newest lines of the book of changes.
func (s *Store) Changes(ctx context.Context, most int) ([]access.Change, error) {
	var out []access.Change
	err := s.each(ctx, fmt.Sprintf("SELECT at, person, device, token, what, detail FROM changes ORDER BY id DESC LIMIT %d", most), func(rows *sql.Rows) error {
		var c access.Change
		err := rows.Scan(millis{&c.At}, &c.Person, &c.Device, &c.Token, &c.What, &c.Detail)
		out = append(out, c)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read the changes: %w", err)
	}
	return out, nil
}
