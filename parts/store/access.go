package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"time"

	"benchtally/parts"
	"benchtally/parts/access"
)

// AccessBook is everything that says who may do what, for keeping in memory:
// it is read on every request and changes a few times a week.
type AccessBook struct {
	People   map[int64]string
	Accounts map[int64]access.Account // by person
	Devices  []access.Device          // those taken out too, the one used last first
	SignOns  map[SignOn]bool
	Tokens   []access.Token
	Links    []access.Invite // walls, those taken back too
}

// SignOn is that somebody has signed on to a phone at some time.
type SignOn struct{ Device, Person int64 }

// Access reads who may do what.
func (s *Store) Access(ctx context.Context) (AccessBook, error) {
	book := AccessBook{Accounts: map[int64]access.Account{}, SignOns: map[SignOn]bool{}}
	var err error
	if book.People, err = s.People(ctx); err != nil {
		return book, err
	}
	err = errors.Join(
		s.each(ctx, "SELECT person, owner, password, pin, badge FROM accounts", func(rows *sql.Rows) error {
			var a access.Account
			var owner int
			err := rows.Scan(&a.Person, &owner, &a.Password, &a.PIN, &a.Badge)
			a.Owner = owner == 1
			book.Accounts[a.Person] = a
			return err
		}),
		s.each(ctx, `SELECT id, name, role, secret, person, owner, owner_until, made, used, ended FROM devices ORDER BY used DESC, id DESC`, func(rows *sql.Rows) error {
			var d access.Device
			err := rows.Scan(&d.ID, &d.Name, &d.Role, &d.Secret, &d.Person, &d.Owner, millis{&d.OwnerUntil}, millis{&d.Made}, millis{&d.Used}, millis{&d.Ended})
			book.Devices = append(book.Devices, d)
			return err
		}),
		s.each(ctx, "SELECT device, person FROM sign_ons", func(rows *sql.Rows) error {
			var on SignOn
			err := rows.Scan(&on.Device, &on.Person)
			book.SignOns[on] = true
			return err
		}),
		s.each(ctx, "SELECT hash, name, scopes, created, used, ended FROM tokens ORDER BY created DESC, name", func(rows *sql.Rows) error {
			var t access.Token
			var scopes string
			err := rows.Scan(&t.Secret, &t.Name, &scopes, millis{&t.Made}, millis{&t.Used}, millis{&t.Ended})
			for scope := range strings.SplitSeq(scopes, ",") {
				t.Scopes = append(t.Scopes, access.Scope(scope))
			}
			book.Tokens = append(book.Tokens, t)
			return err
		}),
		s.each(ctx, "SELECT hash, kind, name, made, until, ended FROM invites WHERE kind = 'wall' ORDER BY made DESC", func(rows *sql.Rows) error {
			var i access.Invite
			err := scanInvite(rows, &i)
			book.Links = append(book.Links, i)
			return err
		}))
	if err != nil {
		return book, fmt.Errorf("read who may do what: %w", err)
	}
	return book, nil
}

// each calls do with every row of a query.
func (s *Store) each(ctx context.Context, query string, do func(*sql.Rows) error) error {
	rows, err := s.read.QueryContext(ctx, query)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := do(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

// millis scans UTC milliseconds, 0 for the zero time.
type millis struct{ to *time.Time }

// Scan reads a column.
func (m millis) Scan(v any) error {
	n, ok := v.(int64)
	if !ok {
		return fmt.Errorf("a time is %T", v)
	}
	*m.to = time.Time{}
	if n != 0 {
		*m.to = time.UnixMilli(n).UTC()
	}
	return nil
}

func milliseconds(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMilli()
}

func scanInvite(row interface{ Scan(...any) error }, i *access.Invite) error {
	return row.Scan(&i.Hash, &i.Kind, &i.Name, millis{&i.Made}, millis{&i.Until}, millis{&i.Ended})
}

// endLent takes back what an owner's password lent to devices.
const endLent = "UPDATE devices SET owner = 0, owner_until = 0 WHERE owner = ?"

// SaveAccount keeps what a person signs on with.
func (s *Store) SaveAccount(ctx context.Context, a access.Account) error {
	return s.office(ctx, func(t *tx) error {
		if !a.Owner {
			if err := t.exec(endLent, a.Person); err != nil {
				return fmt.Errorf("end the rights of an owner: %w", err)
			}
		}
		return t.saveAccount(a)
	})
}

func (t *tx) saveAccount(a access.Account) error {
	err := t.exec(`INSERT INTO accounts (person, owner, password, pin, badge) VALUES (?, ?, ?, ?, ?)
ON CONFLICT (person) DO UPDATE SET owner = excluded.owner, password = excluded.password, pin = excluded.pin, badge = excluded.badge`,
		a.Person, flag(a.Owner), a.Password, a.PIN, a.Badge)
	if err != nil {
		return fmt.Errorf("keep the account of person %d: %w", a.Person, err)
	}
	return nil
}

// office runs a small write of what the office edits, of which others are told.
func (s *Store) office(ctx context.Context, do func(*tx) error) error {
	return s.run(ctx, false, func(t *tx) error {
		t.office = true
		return do(t)
	})
}

// SaveOwner makes a person of that name the owner, with a password's hash.
func (s *Store) SaveOwner(ctx context.Context, name, password string) (person int64, err error) {
	err = s.office(ctx, func(t *tx) (err error) {
		person, err = t.owner(name, password)
		return err
	})
	return person, err
}

func (t *tx) owner(name, password string) (int64, error) {
	id, err := t.person(name)
	if err != nil {
		return 0, err
	}
	a := access.Account{Person: id}
	err = t.row("SELECT pin, badge FROM accounts WHERE person = ?", []any{id}, &a.PIN, &a.Badge)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return 0, fmt.Errorf("read the account of person %d: %w", id, err)
	}
	a.Owner, a.Password = true, password
	if err := t.exec(endLent, id); err != nil {
		return 0, fmt.Errorf("end the rights that the old password lent: %w", err)
	}
	return id, t.saveAccount(a)
}

// AddInvite keeps a code that lets somebody in. A new setup link ends those
// before it.
func (s *Store) AddInvite(ctx context.Context, i access.Invite) error {
	return s.office(ctx, func(t *tx) error {
		if i.Kind == access.Setup {
			if err := t.exec("DELETE FROM invites WHERE kind = 'setup'"); err != nil {
				return fmt.Errorf("end the old setup links: %w", err)
			}
		}
		err := t.exec("INSERT INTO invites (hash, kind, name, made, until, ended) VALUES (?, ?, ?, ?, ?, 0)",
			i.Hash, string(i.Kind), i.Name, milliseconds(i.Made), milliseconds(i.Until))
		if err != nil {
			return fmt.Errorf("keep an invite: %w", err)
		}
		return nil
	})
}

// Invite looks for a code by its hash; nil when there is none.
func (s *Store) Invite(ctx context.Context, hash []byte) (*access.Invite, error) {
	var i access.Invite
	err := scanInvite(s.read.QueryRowContext(ctx, s.bind("SELECT hash, kind, name, made, until, ended FROM invites WHERE hash = ?"), hash), &i)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return nil, nil
	case err != nil:
		return nil, fmt.Errorf("look for an invite: %w", err)
	}
	return &i, nil
}

// UseInvite lets a device in by a code, in one transaction: a code that is
// good once lets in one. For a setup link, d.Owner is taken from the owner it
// makes of name and password.
func (s *Store) UseInvite(ctx context.Context, hash []byte, kind access.Invitation, d access.Device, name, password string) (access.Device, error) {
	err := s.office(ctx, func(t *tx) error {
		var i access.Invite
		err := t.row("SELECT hash, kind, name, made, until, ended FROM invites WHERE hash = ?", []any{hash},
			&i.Hash, &i.Kind, &i.Name, millis{&i.Made}, millis{&i.Until}, millis{&i.Ended})
		if errors.Is(err, sql.ErrNoRows) || err == nil && (i.Kind != kind || !i.Open(d.Made)) {
			return InviteOver(kind)
		}
		if err != nil {
			return fmt.Errorf("look for an invite: %w", err)
		}
		if kind != access.Wall {
			if err := t.exec("UPDATE invites SET ended = ? WHERE hash = ?", milliseconds(d.Made), hash); err != nil {
				return fmt.Errorf("use up an invite: %w", err)
			}
		}
		if kind == access.Setup {
			if d.Owner, err = t.owner(name, password); err != nil {
				return err
			}
			d.Person = d.Owner
		}
		d, err = t.addDevice(d)
		return err
	})
	return d, err
}

// InviteOver is that a code lets nobody in, or nobody any more.
func InviteOver(kind access.Invitation) error {
	switch kind {
	case access.Setup:
		return parts.Problemf(parts.Missing, "setup-over", "This link is no longer good.").Next("Open the one that the server printed when it was started last.")
	case access.Wall:
		return parts.Problemf(parts.Missing, "wall-over", "There is no screen with this link.").Next("Ask for a new one: under Stations, Phones and screens.")
	}
	return parts.Problemf(parts.Missing, "invite-over", "No phone joins with this code.").
		Next("Compare it with the other phone. It is good for ten minutes and for one phone: a new one is under Stations, Phones and screens, Add a phone.")
}

// AddDevice lets a device in.
func (s *Store) AddDevice(ctx context.Context, d access.Device) (access.Device, error) {
	err := s.office(ctx, func(t *tx) (err error) {
		d, err = t.addDevice(d)
		return err
	})
	return d, err
}

func (t *tx) addDevice(d access.Device) (access.Device, error) {
	err := t.row(`INSERT INTO devices (name, role, secret, person, owner, owner_until, made, used, ended) VALUES (?, ?, ?, ?, ?, ?, ?, ?, 0) RETURNING id`,
		[]any{d.Name, string(d.Role), d.Secret, d.Person, d.Owner, milliseconds(d.OwnerUntil), milliseconds(d.Made), milliseconds(d.Used)}, &d.ID)
	if err != nil {
		return d, fmt.Errorf("let a phone in: %w", err)
	}
	return d, t.signedOn(d.ID, d.Person)
}

func (t *tx) signedOn(device, person int64) error {
	if person == 0 {
		return nil
	}
	if err := t.exec("INSERT INTO sign_ons (device, person) VALUES (?, ?) ON CONFLICT DO NOTHING", device, person); err != nil {
		return fmt.Errorf("sign on to a phone: %w", err)
	}
	return nil
}
