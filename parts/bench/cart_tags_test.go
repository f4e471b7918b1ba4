package bench_test

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// carts adds n carts and gives their marks.
func carts(t *testing.T, b *bench.Bench, n int) []string {
	t.Helper()
	var marks []string
	for range n {
		a, err := b.AddCart(context.Background(), shoptest.NewID(), "", "Rosa")
		require.NoError(t, err)
		marks = append(marks, string(a.Mark))
	}
	return marks
}

// printedOn is what a PDF says and what a scanner reads off it, by programs
// that know nothing of ours (poppler, zbar).
func printedOn(t *testing.T, pdf []byte) (text string, codes []string) {
	t.Helper()
	for _, name := range []string{"pdftotext", "pdftoppm", "zbarimg"} {
		if _, err := exec.LookPath(name); err != nil {
			shoptest.SkipOrFail(t, name+" is not installed")
		}
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "tags.pdf")
	require.NoError(t, os.WriteFile(file, pdf, 0o600))
	out, err := exec.Command("pdftotext", file, "-").Output()
	require.NoError(t, err)
	require.NoError(t, exec.Command("pdftoppm", "-r", "100", "-gray", file, filepath.Join(dir, "page")).Run())
	pages, err := filepath.Glob(filepath.Join(dir, "page*"))
	require.NoError(t, err)
	for _, page := range pages {
		code, err := exec.Command("zbarimg", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", page).Output()
		require.NoError(t, err, "no code can be read on %s", filepath.Base(page))
		codes = append(codes, strings.TrimSpace(string(code)))
	}
	return strings.Join(strings.Fields(string(out)), " "), codes
}

func TestCartTags(t *testing.T) {
	ctx := context.Background()
	b := shoptest.Open(t, shoptest.NewClock())
	marks := carts(t, b, 2)
	for _, paper := range []string{"letter", "a4"} {
		set, err := b.Settings(ctx)
		require.NoError(t, err)
		set.Paper = paper
		require.NoError(t, b.SaveSettings(ctx, set))

		var all bytes.Buffer
		require.NoError(t, b.WriteCartTags(ctx, &all, ""))
		text, codes := printedOn(t, all.Bytes())
		assert.Equal(t, []string{set.Address + "/P/" + marks[0], set.Address + "/P/" + marks[1]}, codes)
		assert.Contains(t, text, "Cart 1")
		assert.Contains(t, text, "Cart 2")
		assert.Equal(t, 2, strings.Count(text, "with one tap."), "nothing is cut short")
		for _, mark := range marks {
			assert.Contains(t, strings.Fields(text), mark, "the mark stands by itself, to be typed")
		}
		assert.Equal(t, 2, strings.Count(text, "says what it carries."))

		var one bytes.Buffer
		require.NoError(t, b.WriteCartTags(ctx, &one, strings.ToLower(marks[1])))
		text, codes = printedOn(t, one.Bytes())
		assert.Equal(t, []string{set.Address + "/P/" + marks[1]}, codes)
		assert.NotContains(t, text, "Cart 1")
	}
	// The address on the tag is that of the cart.
	p, err := b.Look(ctx, marks[1])
	require.NoError(t, err)
	assert.Equal(t, parts.Cart, p.State.Kind)
}

func TestTagsThatCannotBePrinted(t *testing.T) {
	ctx := context.Background()
	b := shoptest.Open(t, shoptest.NewClock())
	problem := func(mark string) string { return parts.CodeOf(b.WriteCartTags(ctx, &bytes.Buffer{}, mark)) }
	assert.Equal(t, "carts-none", problem(""))
	marks := carts(t, b, 1)
	job := shoptest.ListJob(t, b, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	assert.Empty(t, problem(marks[0]))
	assert.Equal(t, "cart-unknown", problem(string(job.States[0].Part)), "a part is no cart")
	assert.NotEmpty(t, problem("?"), "what is no mark")
	again, err := b.AddCart(ctx, shoptest.NewID(), "", "")
	require.NoError(t, err)
	assert.Equal(t, "Cart 2", again.Name)
}

// A cart, or a rack, may have a name of its own: it is on its tag and in the
// list, and no other has it.
func TestACartWithAName(t *testing.T) {
	ctx := context.Background()
	b := shoptest.Open(t, shoptest.NewClock())
	id := shoptest.NewID()
	for range 2 { // the button pressed twice
		a, err := b.AddCart(ctx, id, " Drying  rack A ", "Rosa")
		require.NoError(t, err)
		assert.Equal(t, "Drying rack A", a.Name)
	}
	all, err := b.Carts(ctx)
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Equal(t, "Drying rack A", all[0].Name)
	var pdf bytes.Buffer
	require.NoError(t, b.WriteCartTags(ctx, &pdf, ""))
	text, _ := printedOn(t, pdf.Bytes())
	assert.Contains(t, text, "Drying rack A")
	pdf.Reset()
	require.NoError(t, b.WriteRackPlacard(ctx, &pdf, "", string(all[0].Part)))
	text, _ = printedOn(t, pdf.Bytes())
	assert.Contains(t, text, "Drying rack A")
	assert.NotContains(t, text, "in the lists", "it is called that in the lists")

	_, err = b.AddCart(ctx, shoptest.NewID(), "drying rack a", "")
	assert.Equal(t, "cart-there", parts.CodeOf(err))
	_, err = b.AddCart(ctx, shoptest.NewID(), strings.Repeat("x", 41), "")
	assert.Equal(t, "cart-name", parts.CodeOf(err))
}
