package bench

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"slices"
	"strings"
	"sync"
	"time"

	"benchtally/parts"
	"benchtally/parts/access"
	"benchtally/parts/store"
)

const (
	// bookKept is how long what another program changed, such as a token made
	// on the command line or a phone taken out by another server, may stay
	// unseen here.
	bookKept = 5 * time.Second
	// touchEach is how exactly the last use of a phone is kept.
	touchEach = 5 * time.Minute
)

// doorBook keeps in memory who may do what: it is asked on every request.
type doorBook struct {
	mu      sync.Mutex
	book    *store.AccessBook
	devices map[string]access.Device // by secret
	tokens  map[string]access.Token
	read    time.Time
	touched map[string]time.Time // by secret
	hashing chan struct{}        // bounds the memory that hashes take at once
}

func newDoorBook() *doorBook {
	return &doorBook{touched: map[string]time.Time{}, hashing: make(chan struct{}, 2)}
}

// access gives the book, read again when it is old. A change here, or by
// another server on one database, empties it: see forget.
func (b *Bench) access(ctx context.Context) (*doorBook, error) {
	d := b.doors
	if d.book != nil && b.Now().Sub(d.read) < bookKept {
		return d, nil
	}
	book, err := b.store.Access(ctx)
	if err != nil {
		return nil, err
	}
	d.book, d.read = &book, b.Now()
	d.devices, d.tokens = map[string]access.Device{}, map[string]access.Token{}
	for _, v := range book.Devices {
		d.devices[string(v.Secret)] = v
	}
	for _, t := range book.Tokens {
		d.tokens[string(t.Secret)] = t
	}
	return d, nil
}

// AccessBook gives who may do what, for the pages that show it.
func (b *Bench) AccessBook(ctx context.Context) (store.AccessBook, error) {
	b.doors.mu.Lock()
	defer b.doors.mu.Unlock()
	d, err := b.access(ctx)
	if err != nil {
		return store.AccessBook{}, err
	}
	book := *d.book
	book.Devices = slices.Clone(book.Devices) // callers sort it
	return book, nil
}

// Visitor gives who asks, by what the cookie of a device holds. One that the
// shop does not know, or knows no more, is nobody.
func (b *Bench) Visitor(ctx context.Context, secret string) (access.Visitor, error) {
	if secret == "" {
		return access.Visitor{}, nil
	}
	key := string(hashOf(secret))
	b.doors.mu.Lock()
	d, err := b.access(ctx)
	if err != nil {
		b.doors.mu.Unlock()
		return access.Visitor{}, err
	}
	v, now := d.devices[key], b.Now()
	who := access.Visitor{Role: v.RoleAt(now), Device: v.ID, Phone: v.Name, Person: v.Person, Name: d.book.People[v.Person]}
	if who.Role == access.Owner {
		who.Owner = v.Owner
	}
	due := who.Role != access.Nobody && d.touch(key, v.Used, now)
	b.doors.mu.Unlock()
	if who.Role == access.Nobody {
		return access.Visitor{}, nil
	}
	if due {
		return who, b.keepUsed(func() error { return b.store.Touch(ctx, v.ID, now) })
	}
	return who, nil
}

// touch reports whether it is time to keep that something was used.
func (d *doorBook) touch(key string, used, now time.Time) bool {
	if last := d.touched[key]; last.After(used) {
		used = last
	}
	if now.Sub(used) < touchEach {
		return false
	}
	d.touched[key] = now
	return true
}

// keepUsed keeps a last use. That a disk is full or away does not keep anybody
// from looking, so a Problem of the store is let go.
func (b *Bench) keepUsed(do func() error) error {
	if err := do(); parts.AsProblem(err) == nil {
		return err
	}
	return nil
}

// Program gives the token of a program; false for one that the shop does not
// know, or took back.
func (b *Bench) Program(ctx context.Context, text string) (access.Token, bool, error) {
	key := string(hashOf(text))
	b.doors.mu.Lock()
	d, err := b.access(ctx)
	if err == nil && d.tokens[key].Secret == nil {
		d.book = nil // made on the command line a moment ago, perhaps
		d, err = b.access(ctx)
	}
	if err != nil {
		b.doors.mu.Unlock()
		return access.Token{}, false, err
	}
	t, now := d.tokens[key], b.Now()
	known := t.Secret != nil && t.Ended.IsZero()
	due := known && d.touch(key, t.Used, now)
	b.doors.mu.Unlock()
	if due {
		err = b.keepUsed(func() error { return b.store.TouchToken(ctx, t.Secret, now) })
	}
	return t, known, err
}

// AddToken makes a token for programs. Its text is given this once; the shop
// keeps only the hash.
func (b *Bench) AddToken(ctx context.Context, name string, scopes ...access.Scope) (string, error) {
	if name != "" {
		var err error
		if name, err = access.Name(name); err != nil {
			return "", err
		}
	}
	text := secret()
	for strings.HasPrefix(text, "-") { // on a command line that would be a flag
		text = secret()
	}
	return text, b.store.AddToken(ctx, access.Token{Secret: hashOf(text), Name: name, Scopes: scopes, Made: b.Now()})
}

// secret is a text that nobody guesses: 192 random bits.
func secret() string {
	raw := make([]byte, 24)
	rand.Read(raw) // never fails
	return base64.RawURLEncoding.EncodeToString(raw)
}

// spoken is a code of eight characters that can be read out and typed: those
// of marks, 40 random bits.
func spoken() string {
	const letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
	raw := make([]byte, 8)
	rand.Read(raw)
	for i, b := range raw {
		raw[i] = letters[b%32]
	}
	return string(raw)
}

// readSpoken forgives how a code was typed, like a mark.
func readSpoken(code string) string {
	return strings.NewReplacer("O", "0", "I", "1", "L", "1", "-", "", " ", "").Replace(strings.ToUpper(strings.TrimSpace(code)))
}

func hashOf(text string) []byte {
	sum := sha256.Sum256([]byte(text))
	return sum[:]
}

// hash gives what is kept of a password or a PIN.
func (b *Bench) hash(text string) string {
	b.doors.hashing <- struct{}{}
	defer func() { <-b.doors.hashing }()
	salt := make([]byte, access.SaltLength)
	rand.Read(salt)
	return access.Hash(text, salt)
}

func (b *Bench) matches(hash, text string) bool {
	b.doors.hashing <- struct{}{}
	defer func() { <-b.doors.hashing }()
	return access.Matches(hash, text)
}

func same(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }
