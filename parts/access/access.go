// Package access has the rules of who may do what: roles, the scopes of
// tokens, what a password and a PIN must be, and when a phone's session is
// over. It owns no cookie, no address and no row: it takes values and answers.
package access

import (
	"slices"
	"strings"
	"time"

	"benchtally/parts"
)

// Role is what a person or a phone is in the shop.
type Role string

// The roles, the one that may least first.
const (
	Nobody Role = ""
	Viewer Role = "viewer" // a screen: it sees the floor, and changes nothing
	Maker  Role = "maker"  // works: records, prints, lists, mixes
	Owner  Role = "owner"  // a maker who also sets up the shop: settings, steps, people, phones
)

var ranks = []Role{Nobody, Viewer, Maker, Owner}

// May reports whether a role may do what asks for another.
func (r Role) May(asked Role) bool { return slices.Index(ranks, r) >= slices.Index(ranks, asked) }

// Scope is what a token for programs may do.
type Scope string

// The scopes of tokens. None includes another.
const (
	Read   Scope = "read"   // look at everything
	Scan   Scope = "scan"   // record what is done to parts
	Office Scope = "office" // lists, prints, mixes and all else that a page sets up
	Gauge  Scope = "gauge"  // put in readings of temperature and humidity, for a sensor
)

// Scopes lists them as people are told of them.
var Scopes = []Scope{Read, Scan, Office, Gauge}

// ParseScopes reads scopes with commas between them.
func ParseScopes(text string) ([]Scope, error) {
	var out []Scope
	for word := range strings.SplitSeq(text, ",") {
		s := Scope(strings.TrimSpace(word))
		if !slices.Contains(Scopes, s) {
			return nil, parts.Problemf(parts.Invalid, "scope-unknown", "A token has no scope %q.", string(s)).
				Next("Choose from read, scan, office and gauge, with commas between them.")
		}
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out, nil
}

// How long what lets somebody in is good for.
const (
	JoinFor  = 10 * time.Minute    // the code by which a phone joins, shown by one that is in
	SetupFor = 24 * time.Hour      // the link by which a new shop gets its owner
	OwnerFor = 12 * time.Hour      // an owner's rights on a phone, after the password
	IdleFor  = 30 * 24 * time.Hour // a phone that nobody used
)

// Account is what a person signs on with. Who has none is only a name.
type Account struct {
	Person   int64
	Owner    bool
	Password string // as Hash gives it; only owners have one
	PIN      string // as Hash gives it, "" for none
	Badge    string // the secret half of a badge, where a PIN asks for one
}

// Device is a phone or a screen that is in the shop.
type Device struct {
	ID         int64
	Name       string
	Role       Role   // viewer or maker; an owner's rights are lent until OwnerUntil
	Secret     []byte // SHA-256 of what its cookie holds
	Person     int64  // who signed on, 0 for nobody
	Owner      int64  // whose rights OwnerUntil lends
	OwnerUntil time.Time
	Made, Used time.Time
	Ended      time.Time // zero while it is in
}

// In reports whether a phone is in the shop at a moment.
func (d Device) In(now time.Time) bool { return d.Ended.IsZero() && now.Before(d.Used.Add(IdleFor)) }

// RoleAt is what a phone may do at a moment. The rights of an owner end by
// themselves: a phone lies about, and the steps of the shop do not.
func (d Device) RoleAt(now time.Time) Role {
	switch {
	case !d.In(now):
		return Nobody
	case d.Role == Maker && now.Before(d.OwnerUntil):
		return Owner
	}
	return d.Role
}

// Invite is what lets a phone in, by a code that is shown once.
type Invite struct {
	Hash  []byte // SHA-256 of the code
	Kind  Invitation
	Name  string // of the screen, for a wall
	Made  time.Time
	Until time.Time // zero for as long as nobody ends it
	Ended time.Time // when it was used up or taken back
}

// Invitation says what an invite leads to.
type Invitation string

// The kinds of invite. A wall's link may be opened again by the same screen.
const (
	Setup Invitation = "setup"
	Join  Invitation = "join"
	Wall  Invitation = "wall"
)

// Open reports whether an invite still lets somebody in.
func (i Invite) Open(now time.Time) bool {
	return i.Ended.IsZero() && (i.Until.IsZero() || now.Before(i.Until))
}

// Token is how a program gets in.
type Token struct {
	Secret     []byte // SHA-256 of its text
	Name       string
	Scopes     []Scope
	Made, Used time.Time
	Ended      time.Time
}

// May reports whether a token may do what a scope asks for.
func (t Token) May(asked Scope) bool { return t.Ended.IsZero() && slices.Contains(t.Scopes, asked) }

// Change is a line of the book of what was set up, and by whom.
type Change struct {
	At     time.Time
	Person int64
	Device int64
	Token  string // the name of the program's token
	What   string // the address, with its method
	Detail string // what was sent, without secrets
}

// Visitor is who asks for something: a device, with the person who uses it.
type Visitor struct {
	Role   Role
	Device int64
	Phone  string // its name
	Person int64  // 0 for nobody
	Name   string // the person's
	Owner  int64  // whose rights it has, 0 for nobody's
}
