package bench_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/rework"
	"benchtally/parts/shoptest"
)

// defect gives an entry of the catalogue.
func defect(t *testing.T, b *bench.Bench, key string) parts.Defect {
	t.Helper()
	all, err := b.Defects(context.Background())
	require.NoError(t, err)
	i := slices.IndexFunc(all, func(d parts.Defect) bool { return d.Key == key })
	require.GreaterOrEqual(t, i, 0, key)
	return all[i]
}

func TestANewShopHasTheReadyMadeDefects(t *testing.T) {
	b := shoptest.Open(t, shoptest.NewClock())
	all, err := b.Defects(context.Background())
	require.NoError(t, err)
	assert.Equal(t, rework.Catalogue(), all)
}

func TestSaveDefect(t *testing.T) {
	ctx := context.Background()
	b := shoptest.Open(t, shoptest.NewClock())
	crack := parts.Defect{Name: "  Crack at an\tend ", Limit: 1, Steps: []parts.Step{{Name: " glue  the crack ", Station: "glue"}, {Name: "set", Clock: parts.Setting, Minutes: 120}}}
	kept, err := b.SaveDefect(ctx, crack)
	require.NoError(t, err)
	assert.Equal(t, "crack-at-an-end", kept.Key)
	assert.Equal(t, "Crack at an end", kept.Name)
	assert.Equal(t, "glue the crack", kept.Steps[0].Name)
	assert.Equal(t, " glue  the crack ", crack.Steps[0].Name, "what was given is left as it is")
	assert.Equal(t, kept, defect(t, b, kept.Key))

	again, err := b.SaveDefect(ctx, crack)
	require.NoError(t, err, "the same one sent twice")
	assert.Equal(t, kept, again)
	all, err := b.Defects(ctx)
	require.NoError(t, err)
	assert.Len(t, all, len(rework.Catalogue())+1)

	crack.Limit = 3
	_, err = b.SaveDefect(ctx, crack)
	assert.Equal(t, "defect-there", parts.CodeOf(err), "another one of the same name")
	crack.Name = "CRACK AT AN END!"
	other, err := b.SaveDefect(ctx, crack)
	require.NoError(t, err)
	assert.Equal(t, "crack-at-an-end-2", other.Key, "names that differ may make the same key")

	kept.Name = "Split end"
	_, err = b.SaveDefect(ctx, kept)
	require.NoError(t, err)
	assert.Equal(t, "Split end", defect(t, b, "crack-at-an-end").Name, "a key stays when the name changes")
	kept.Name = "dent"
	_, err = b.SaveDefect(ctx, kept)
	assert.Equal(t, "defect-there", parts.CodeOf(err))
	kept.Name, kept.Steps = "Split end", nil
	_, err = b.SaveDefect(ctx, kept)
	assert.Equal(t, "defect-empty", parts.CodeOf(err))
	assert.Len(t, defect(t, b, "crack-at-an-end").Steps, 2, "what was refused changes nothing")
}

// A repair that is under way stays as it began when the catalogue changes; the
// next one follows the change.
func TestAChangedDefectCountsFromNowOn(t *testing.T) {
	ctx := context.Background()
	b := shoptest.Open(t, shoptest.NewClock())
	job := shoptest.ListJob(t, b, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	var rails []string
	for _, s := range job.States {
		if s.Kind == parts.Single && job.LineOf(s).Name == "Rail" {
			rails = append(rails, string(s.Part))
		}
	}
	mend := func(mark string) []string {
		_, err := b.Mend(ctx, bench.Request{ID: shoptest.NewID(), Mark: mark, Defect: "tear-out"})
		require.NoError(t, err)
		p, err := b.Look(ctx, mark)
		require.NoError(t, err)
		var names []string
		for _, s := range p.State.Repair {
			names = append(names, s.Name)
		}
		return names
	}
	assert.Equal(t, []string{"sand the tear-out away"}, mend(rails[0]))
	d := defect(t, b, "tear-out")
	d.Steps = []parts.Step{{Name: "fill the tear-out", Station: "glue"}, {Name: "sand the filler", Station: "sand"}}
	_, err := b.SaveDefect(ctx, d)
	require.NoError(t, err)
	p, err := b.Look(ctx, rails[0])
	require.NoError(t, err)
	require.Len(t, p.State.Repair, 1)
	assert.Equal(t, "sand the tear-out away", p.State.Repair[0].Name)
	assert.Equal(t, []string{"fill the tear-out", "sand the filler"}, mend(rails[1]))
}

// pngPicture is a real picture.
func pngPicture(t *testing.T) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, png.Encode(&out, image.NewGray(image.Rect(0, 0, 4, 4))))
	return out.Bytes()
}

func TestPhotosAreKeptByWhatTheyShow(t *testing.T) {
	ctx := context.Background()
	b := shoptest.Open(t, shoptest.NewClock())
	var jpg bytes.Buffer
	require.NoError(t, jpeg.Encode(&jpg, image.NewGray(image.Rect(0, 0, 4, 4)), nil))
	for kind, data := range map[string][]byte{"image/png": pngPicture(t), "image/jpeg": jpg.Bytes()} {
		name, err := b.AddPhoto(ctx, data)
		require.NoError(t, err)
		again, err := b.AddPhoto(ctx, data)
		require.NoError(t, err)
		assert.Equal(t, fmt.Sprintf("%x", sha256.Sum256(data)), name)
		assert.Equal(t, name, again, "the same picture twice is one")
		p, err := b.Photo(ctx, name)
		require.NoError(t, err)
		assert.Equal(t, "image/jpeg", p.Type, "made anew of a %s", kind)
		shown, err := jpeg.Decode(bytes.NewReader(p.Data))
		require.NoError(t, err)
		assert.Equal(t, image.Rect(0, 0, 4, 4), shown.Bounds())
	}
	for _, name := range []string{"", "x", "\x00", fmt.Sprintf("%064x", 1), fmt.Sprintf("%065x", 1)} {
		_, err := b.Photo(ctx, name)
		assert.Equal(t, "photo-unknown", parts.CodeOf(err), "%q", name)
	}
	_, err := b.AddPhoto(ctx, append(pngPicture(t), make([]byte, bench.MostPhoto)...))
	assert.Equal(t, "photo-large", parts.CodeOf(err))
}
