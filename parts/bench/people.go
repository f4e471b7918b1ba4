package bench

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"benchtally/parts"
	"benchtally/parts/access"
	"benchtally/parts/store"
)

// Member is somebody the shop knows.
type Member struct {
	Person int64
	Name   string
	Owner  bool
	PIN    bool // a phone asks for one
}

// Members gives everybody whom the shop knows, by name.
func (b *Bench) Members(ctx context.Context) ([]Member, error) {
	book, err := b.AccessBook(ctx)
	if err != nil {
		return nil, err
	}
	var out []Member
	for id, name := range book.People {
		if name == erased(id) {
			continue
		}
		a := book.Accounts[id]
		out = append(out, Member{id, name, a.Owner, a.PIN != ""})
	}
	slices.SortFunc(out, func(a, b Member) int { return strings.Compare(a.Name, b.Name) })
	return out, nil
}

// AddPerson makes a name known before it recorded anything. A name that is
// known already is that one.
func (b *Bench) AddPerson(ctx context.Context, name string) error {
	name, err := access.Name(name)
	if err != nil || b.named(ctx, name) != 0 {
		return err
	}
	return b.store.AddPerson(ctx, name)
}

// SignOn is who wants to use a phone: by Person or by Name, with what proves
// it where that person has a PIN.
type SignOn struct {
	Person     int64
	Name       string
	PIN, Badge string
}

// SignOn says who uses a device, and gives the name. A name that is new is
// added: whoever works here may say so. A person with a PIN proves it, by the
// PIN or by the badge.
func (b *Bench) SignOn(ctx context.Context, v access.Visitor, on SignOn) (string, error) {
	if on.Person == 0 && strings.TrimSpace(on.Name) == "" {
		return "", b.setPerson(ctx, v, 0)
	}
	person, err := b.personOf(ctx, on)
	if err != nil {
		return "", err
	}
	book, err := b.AccessBook(ctx)
	if err != nil {
		return "", err
	}
	name := book.People[person]
	if a := book.Accounts[person]; a.PIN != "" && v.Person != person {
		switch {
		case on.PIN == "" && on.Badge == "":
			return "", parts.Problemf(parts.Forbidden, "pin-asked", "%s signs on with a PIN or with the badge.", name).
				Next("Scan the badge, or open Stations, Who uses this phone, and type the PIN.").Fact("person", person)
		case on.Badge != "" && same(on.Badge, a.Badge):
		case on.PIN != "" && b.matches(a.PIN, on.PIN):
		default:
			return "", parts.Problemf(parts.Forbidden, "pin-wrong", "That is not the PIN of %s.", name).
				Next("Try again, or ask the owner for a new one.").Fact("person", person)
		}
	}
	return name, b.setPerson(ctx, v, person)
}

func (b *Bench) setPerson(ctx context.Context, v access.Visitor, person int64) error {
	if v.Device == 0 || v.Person == person {
		return nil
	}
	return b.store.SignOn(ctx, v.Device, person)
}

// personOf finds the person that is meant, and adds a name that is new.
func (b *Bench) personOf(ctx context.Context, on SignOn) (int64, error) {
	if on.Person != 0 {
		_, err := b.PersonByID(ctx, on.Person)
		return on.Person, err
	}
	name, err := access.Name(on.Name)
	if err != nil {
		return 0, err
	}
	if id := b.named(ctx, name); id != 0 {
		return id, nil
	}
	if err := b.AddPerson(ctx, name); err != nil {
		return 0, err
	}
	return b.named(ctx, name), nil
}

// named is the number of a name, however it is capitalised; 0 when nobody has it.
func (b *Bench) named(ctx context.Context, name string) int64 {
	book, err := b.AccessBook(ctx)
	if err != nil {
		return 0
	}
	for id, n := range book.People {
		if strings.EqualFold(n, name) {
			return id
		}
	}
	return 0
}

// Speaks gives the name in which a device records something: the one that was
// said with it, when that may be so. A phone keeps what it cannot send, so it
// may speak for everybody who has signed on to it, and for all who have no PIN.
func (b *Bench) Speaks(ctx context.Context, v access.Visitor, said string) string {
	if said == "" || said == v.Name {
		return said
	}
	book, err := b.AccessBook(ctx)
	if err != nil {
		return v.Name
	}
	id := b.named(ctx, said)
	if book.Accounts[id].PIN != "" && !book.SignOns[store.SignOn{Device: v.Device, Person: id}] {
		return v.Name
	}
	return said
}

// SetPIN gives a person a PIN, or with "" takes it away. The badge printed
// before does no longer sign on, because anybody could have written it.
func (b *Bench) SetPIN(ctx context.Context, person int64, pin string) error {
	book, err := b.AccessBook(ctx)
	if err != nil {
		return err
	}
	if _, err := b.PersonByID(ctx, person); err != nil {
		return err
	}
	a := book.Accounts[person]
	a.Person, a.PIN, a.Badge = person, "", ""
	if pin != "" {
		if err := access.CheckPIN(pin); err != nil {
			return err
		}
		a.PIN, a.Badge = b.hash(pin), spoken()
	}
	return b.store.SaveAccount(ctx, a)
}

// SetOwner gives a person an owner's password.
func (b *Bench) SetOwner(ctx context.Context, name, password string) error {
	name, err := access.Name(name)
	if err == nil {
		err = access.CheckPassword(password)
	}
	if err != nil {
		return err
	}
	_, err = b.store.SaveOwner(ctx, name, b.hash(password))
	return err
}

// NoOwner makes an owner an ordinary person.
func (b *Bench) NoOwner(ctx context.Context, person int64) error {
	book, err := b.AccessBook(ctx)
	if err == nil {
		err = lastOwner(book, person)
	}
	if err != nil {
		return err
	}
	a := book.Accounts[person]
	a.Owner, a.Password = false, ""
	return b.store.SaveAccount(ctx, a)
}

// lastOwner refuses what would leave a shop without an owner.
func lastOwner(book store.AccessBook, person int64) error {
	owners := 0
	for _, a := range book.Accounts {
		if a.Owner {
			owners++
		}
	}
	if book.Accounts[person].Owner && owners == 1 {
		return parts.Problemf(parts.Refused, "last-owner", "%s is the only owner.", book.People[person]).Next("Give somebody else an owner's password first.")
	}
	return nil
}

// Rename writes another name for a person.
func (b *Bench) Rename(ctx context.Context, person int64, name string) error {
	name, err := access.Name(name)
	if err != nil {
		return err
	}
	if other := b.named(ctx, name); other != 0 && other != person {
		return parts.Problemf(parts.Refused, "name-taken", "Somebody else is called %s.", name).Next("Add a letter or a family name.")
	}
	return b.store.RenamePerson(ctx, person, name)
}

// Erase takes a person's name out of the shop. What they recorded stays, under
// a number.
func (b *Bench) Erase(ctx context.Context, person int64) error {
	book, err := b.AccessBook(ctx)
	if err != nil {
		return err
	}
	if err := lastOwner(book, person); err != nil {
		return err
	}
	return b.store.ErasePerson(ctx, person, erased(person))
}

// erased stands for the name of somebody who was erased.
func erased(person int64) string { return fmt.Sprintf("Person %d", person) }

// badgePath is what a badge of a person holds after the shop's address.
func badgePath(person int64, a access.Account) string {
	path := "/W/" + strconv.FormatInt(person, 10)
	if a.Badge != "" {
		path += "-" + a.Badge
	}
	return path
}
