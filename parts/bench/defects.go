package bench

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"slices"

	"benchtally/parts"
	"benchtally/parts/rework"
	"benchtally/parts/store"
)

// Defects gives the shop's catalogue of defects.
func (b *Bench) Defects(ctx context.Context) ([]parts.Defect, error) { return b.store.Defects(ctx) }

// SaveDefect adds a defect to the catalogue or changes one.
func (b *Bench) SaveDefect(ctx context.Context, d parts.Defect) error {
	stations, err := b.store.Stations(ctx)
	if err != nil {
		return err
	}
	if err := rework.CheckDefect(d, stations); err != nil {
		return err
	}
	return b.store.SaveDefect(ctx, d)
}

// MostPhoto bounds the bytes of a picture.
const MostPhoto = 6 << 20

// photoTypes are the pictures that every browser shows.
var photoTypes = []string{"image/jpeg", "image/png", "image/webp"}

// AddPhoto keeps a picture and gives the name by which a defect refers to it.
func (b *Bench) AddPhoto(ctx context.Context, data []byte) (string, error) {
	kind := http.DetectContentType(data)
	switch {
	case len(data) > MostPhoto:
		return "", parts.Problemf(parts.TooBig, "photo-large", "The picture is larger than %d MB.", MostPhoto>>20).Next("Take it again at a lower resolution.")
	case len(bytes.TrimSpace(data)) == 0 || !slices.Contains(photoTypes, kind):
		return "", parts.Problemf(parts.Invalid, "photo-kind", "That is no picture a browser can show.").Next("Send a JPEG, PNG or WebP picture.")
	}
	sum := sha256.Sum256(data)
	p := store.Photo{Name: hex.EncodeToString(sum[:]), Type: kind, Data: data}
	return p.Name, b.store.AddPhoto(ctx, p)
}

// Photo gives a picture by its name.
func (b *Bench) Photo(ctx context.Context, name string) (store.Photo, error) {
	return b.store.Photo(ctx, name)
}
