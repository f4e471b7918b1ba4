package bench

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strings"

	"benchtally/parts"
	"benchtally/parts/photo"
	"benchtally/parts/rework"
	"benchtally/parts/store"
)

// Defects gives the shop's catalogue of defects.
func (b *Bench) Defects(ctx context.Context) ([]parts.Defect, error) { return b.store.Defects(ctx) }

// SaveDefect adds a defect to the catalogue, which gets a key from its name,
// or changes the one that has its key. People choose a defect by its name, so
// no two have the same; one that is new and sent twice is added once. What was
// recorded keeps the repair it began with.
func (b *Bench) SaveDefect(ctx context.Context, d parts.Defect) (parts.Defect, error) {
	stations, err := b.store.Stations(ctx)
	if err != nil {
		return d, err
	}
	all, err := b.store.Defects(ctx)
	if err != nil {
		return d, err
	}
	d = tidied(d)
	for _, o := range all {
		switch {
		case !strings.EqualFold(o.Name, d.Name) || o.Key == d.Key:
		case d.Key == "" && sameDefect(o, d):
			return o, nil
		default:
			return d, parts.Problemf(parts.Refused, "defect-there", "There is a defect called %q already.", o.Name).
				Next("Change that one, or choose another name.")
		}
	}
	if d.Key == "" {
		d.Key = defectKey(d.Name, all)
	}
	if err := rework.CheckDefect(d, stations); err != nil {
		return d, err
	}
	return d, b.store.SaveDefect(ctx, d)
}

// tidied is d with single spaces in its names, so that two names that look
// the same are the same.
func tidied(d parts.Defect) parts.Defect {
	line := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	d.Name, d.Steps = line(d.Name), slices.Clone(d.Steps)
	for i := range d.Steps {
		d.Steps[i].Name = line(d.Steps[i].Name)
	}
	return d
}

// sameDefect reports whether two entries say the same, their keys apart.
func sameDefect(a, b parts.Defect) bool {
	a.Key = b.Key
	return reflect.DeepEqual(a, b)
}

// defectKey makes a key of a name that no defect has.
func defectKey(name string, all []parts.Defect) string {
	short := strings.ToLower(codeOf(name))
	key := short
	for n := 2; slices.ContainsFunc(all, func(o parts.Defect) bool { return o.Key == key }); n++ {
		key = fmt.Sprintf("%s-%d", short, n)
	}
	return key
}

// MostPhoto bounds the bytes of a picture that is sent.
const MostPhoto = photo.MostBytes

// AddPhoto keeps a picture and gives the name by which a defect refers to it.
// What is kept is made anew, see the room photo; the name is made from the
// bytes that were sent, so that the same ones sent again are known.
func (b *Bench) AddPhoto(ctx context.Context, data []byte) (string, error) {
	sum := sha256.Sum256(data)
	p := store.Photo{Name: hex.EncodeToString(sum[:]), Type: photo.Type}
	if _, err := b.store.Photo(ctx, p.Name); err == nil {
		return p.Name, nil
	}
	var err error
	if p.Data, err = b.cleaned(data); err != nil {
		return "", err
	}
	return p.Name, b.store.AddPhoto(ctx, p)
}

// cleaned makes one picture anew at a time: unpacked ones are large.
func (b *Bench) cleaned(data []byte) ([]byte, error) {
	b.darkroom.Lock()
	defer b.darkroom.Unlock()
	return photo.Clean(data)
}

var photoName = regexp.MustCompile(`^[0-9a-f]{64}$`)

// Photo gives a picture by its name.
func (b *Bench) Photo(ctx context.Context, name string) (store.Photo, error) {
	if !photoName.MatchString(name) {
		return store.Photo{}, parts.Problemf(parts.Missing, "photo-unknown", "There is no such picture.").Next("Open the part's page again.")
	}
	return b.store.Photo(ctx, name)
}
