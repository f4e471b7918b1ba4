package bench

import (
	"context"
	"encoding/hex"
	"time"

	"benchtally/parts"
	"benchtally/parts/access"
	"benchtally/parts/store"
)

// NeedsOwner reports whether nobody has set this shop up yet.
func (b *Bench) NeedsOwner(ctx context.Context) (bool, error) {
	book, err := b.AccessBook(ctx)
	for _, a := range book.Accounts {
		if a.Owner && a.Password != "" {
			return false, err
		}
	}
	return err == nil, err
}

// NewSetup gives the code of a link by which a new shop gets its owner. Those
// before it are over.
func (b *Bench) NewSetup(ctx context.Context) (string, error) {
	now := b.Now()
	return b.invite(ctx, secret(), access.Invite{Kind: access.Setup, Made: now, Until: now.Add(access.SetupFor)})
}

// NewJoin gives the code by which one phone may join, soon.
func (b *Bench) NewJoin(ctx context.Context) (string, error) {
	now := b.Now()
	return b.invite(ctx, spoken(), access.Invite{Kind: access.Join, Made: now, Until: now.Add(access.JoinFor)})
}

// NewWall gives the code of a link for a screen that only shows. It is short
// enough for the keys of a television.
func (b *Bench) NewWall(ctx context.Context, name string) (string, error) {
	name, err := access.Name(name)
	if err != nil {
		return "", err
	}
	return b.invite(ctx, spoken(), access.Invite{Kind: access.Wall, Name: name, Made: b.Now()})
}

func (b *Bench) invite(ctx context.Context, code string, i access.Invite) (string, error) {
	i.Hash = hashOf(code)
	return code, b.store.AddInvite(ctx, i)
}

// Invited looks at a code without using it: what it leads to.
func (b *Bench) Invited(ctx context.Context, code string, kind access.Invitation) (access.Invite, error) {
	i, err := b.store.Invite(ctx, hashOf(readCode(code, kind)))
	if err == nil && (i == nil || i.Kind != kind || !i.Open(b.Now())) {
		err = store.InviteOver(kind)
	}
	if err != nil {
		return access.Invite{}, err
	}
	return *i, nil
}

// Joined says what became of the code by which a phone may join: over is false
// while it waits for one, and phone is "" when none came in time.
func (b *Bench) Joined(ctx context.Context, code string) (phone string, over bool, err error) {
	i, err := b.store.Invite(ctx, hashOf(readSpoken(code)))
	if err != nil {
		return "", false, err
	}
	if i != nil && i.Kind == access.Join && i.Open(b.Now()) {
		return "", false, nil
	}
	if i == nil || i.Kind != access.Join || i.Ended.IsZero() {
		return "", true, nil
	}
	book, err := b.AccessBook(ctx)
	if err != nil {
		return "", false, err
	}
	newest := int64(0)
	for _, d := range book.Devices {
		if d.Made.Equal(i.Ended) && d.ID > newest { // the code is used up in the moment that the phone is made
			phone, newest = d.Name, d.ID
		}
	}
	return phone, true, nil
}

func readCode(code string, kind access.Invitation) string {
	if kind == access.Setup {
		return code
	}
	return readSpoken(code)
}

// SetUp makes the first owner by a setup link, with the device that opened it.
// It gives what the device's cookie is to hold.
func (b *Bench) SetUp(ctx context.Context, code, name, password, phone string) (string, error) {
	name, err := access.Name(name)
	if err == nil {
		err = access.CheckPassword(password)
	}
	if err != nil {
		return "", err
	}
	return b.letIn(ctx, code, access.Setup, phone, name, b.hash(password))
}

// Join lets a phone in by a code that another one shows.
func (b *Bench) Join(ctx context.Context, code, phone string) (string, error) {
	return b.letIn(ctx, code, access.Join, phone, "", "")
}

// OpenWall lets a screen in by its link.
func (b *Bench) OpenWall(ctx context.Context, code string) (string, error) {
	i, err := b.Invited(ctx, code, access.Wall)
	if err != nil {
		return "", err
	}
	return b.letIn(ctx, code, access.Wall, i.Name, "", "")
}

func (b *Bench) letIn(ctx context.Context, code string, kind access.Invitation, phone, owner, password string) (string, error) {
	d, text, err := b.newDevice(phone)
	if err != nil {
		return "", err
	}
	switch kind {
	case access.Wall:
		d.Role = access.Viewer
	case access.Setup:
		d.OwnerUntil = d.Made.Add(access.OwnerFor)
	}
	_, err = b.store.UseInvite(ctx, hashOf(readCode(code, kind)), kind, d, owner, password)
	return text, err
}

func (b *Bench) newDevice(phone string) (access.Device, string, error) {
	name, err := access.Name(phone)
	if err != nil {
		return access.Device{}, "", err
	}
	text, now := secret(), b.Now()
	return access.Device{Name: name, Role: access.Maker, Secret: hashOf(text), Made: now, Used: now}, text, nil
}

// SignIn lets a device in by an owner's password, with the owner's rights.
func (b *Bench) SignIn(ctx context.Context, password, phone string) (string, error) {
	owner, err := b.ownerBy(ctx, password)
	if err != nil {
		return "", err
	}
	d, text, err := b.newDevice(phone)
	if err != nil {
		return "", err
	}
	d.Owner, d.Person, d.OwnerUntil = owner, owner, d.Made.Add(access.OwnerFor)
	_, err = b.store.AddDevice(ctx, d)
	return text, err
}

// ownerBy finds the owner whose password it is.
func (b *Bench) ownerBy(ctx context.Context, password string) (int64, error) {
	book, err := b.AccessBook(ctx)
	if err != nil {
		return 0, err
	}
	for person, a := range book.Accounts {
		if a.Owner && a.Password != "" && b.matches(a.Password, password) {
			return person, nil
		}
	}
	return 0, parts.Problemf(parts.Unsigned, "password-wrong", "That is no owner's password.").
		Next("Try again. If it is forgotten: benchtally owner on the computer that has the shop's file sets a new one.")
}

// Lend gives a device the rights of an owner for a while.
func (b *Bench) Lend(ctx context.Context, v access.Visitor, password string) error {
	owner, err := b.ownerBy(ctx, password)
	if err != nil {
		return err
	}
	return b.store.Lend(ctx, v.Device, owner, b.Now().Add(access.OwnerFor))
}

// GiveBack ends an owner's rights on a device.
func (b *Bench) GiveBack(ctx context.Context, v access.Visitor) error {
	return b.store.Lend(ctx, v.Device, 0, time.Time{})
}

// EndDevice takes a device out of the shop.
func (b *Bench) EndDevice(ctx context.Context, device int64) error {
	return b.store.EndDevice(ctx, device, b.Now())
}

// EndWall takes a screen's link back, and with it every screen it let in by
// that name.
func (b *Bench) EndWall(ctx context.Context, hash string) error {
	raw, err := hex.DecodeString(hash)
	if err != nil {
		return store.InviteOver(access.Wall)
	}
	book, err := b.AccessBook(ctx)
	if err != nil {
		return err
	}
	for _, link := range book.Links {
		if string(link.Hash) != string(raw) {
			continue
		}
		for _, d := range book.Devices {
			if d.Role == access.Viewer && d.Name == link.Name && d.Ended.IsZero() {
				if err := b.EndDevice(ctx, d.ID); err != nil {
					return err
				}
			}
		}
	}
	return b.store.EndInvite(ctx, raw, b.Now())
}

// EndToken takes a token back, by its hash in hexadecimal digits.
func (b *Bench) EndToken(ctx context.Context, hash string) error {
	raw, err := hex.DecodeString(hash)
	if err != nil {
		return parts.Problemf(parts.Missing, "token-gone", "There is no such token.").Next("Open the page again.")
	}
	return b.store.EndToken(ctx, raw, b.Now())
}

// Note writes a line of the book of changes.
func (b *Bench) Note(ctx context.Context, c access.Change) error {
	c.At = b.Now()
	return b.store.Note(ctx, c)
}

// Changes gives the newest lines of the book of changes.
func (b *Bench) Changes(ctx context.Context, most int) ([]access.Change, error) {
	return b.store.Changes(ctx, most)
}
