package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"benchtally/parts"
	"benchtally/parts/drying"
	"benchtally/parts/store"
)

// Product is the newest version of a glue or a finish.
type Product struct {
	drying.Product
	Version int
}

// readyProducts are the products that a new shop starts with.
func readyProducts() ([]store.Product, error) {
	var out []store.Product
	for _, p := range drying.ReadyMade() {
		body, err := json.Marshal(p)
		if err != nil {
			return nil, fmt.Errorf("write product %s: %w", p.Key, err)
		}
		out = append(out, store.Product{Key: p.Key, Body: body})
	}
	return out, nil
}

// Products gives the newest version of each product: glues first, then as the
// finishes are used, by name.
func (b *Bench) Products(ctx context.Context) ([]Product, error) {
	rows, err := b.store.Products(ctx)
	if err != nil {
		return nil, err
	}
	byKey := map[string]Product{}
	for _, row := range rows { // the newest comes last
		p := Product{Version: row.Version}
		if err := json.Unmarshal(row.Body, &p.Product); err != nil {
			return nil, fmt.Errorf("read product %s: %w", row.Key, err)
		}
		byKey[row.Key] = p
	}
	var out []Product
	for _, kind := range drying.Kinds {
		of := len(out)
		for _, p := range byKey {
			if p.Kind == kind {
				out = append(out, p)
			}
		}
		slices.SortFunc(out[of:], func(a, b Product) int { return strings.Compare(a.Name, b.Name) })
	}
	return out, nil
}

// SaveProduct keeps what a data sheet says as a new version. What is wet
// already dries on by the version with which it was put on. Version is the one
// that was changed, 0 for a product that is new: that gets its key from its name.
func (b *Bench) SaveProduct(ctx context.Context, p Product) (Product, error) {
	p.Name, p.Missed, p.Source = strings.TrimSpace(p.Name), strings.TrimSpace(p.Missed), strings.TrimSpace(p.Source)
	if p.Version == 0 && p.Key == "" {
		p.Key = productKey(p.Name)
	}
	if err := drying.Check(p.Product); err != nil {
		return p, err
	}
	body, err := json.Marshal(p.Product)
	if err != nil {
		return p, fmt.Errorf("write product %s: %w", p.Key, err)
	}
	kept, err := b.store.SaveProduct(ctx, store.Product{Key: p.Key, Version: p.Version, Body: body})
	p.Version = kept.Version
	return p, err
}

// productKey makes a key of a name: its letters and digits, in small.
func productKey(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r > unicode.MaxASCII || !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	key := strings.Join(words, "-")
	if len(key) > 50 {
		key = strings.TrimRight(key[:50], "-")
	}
	if key == "" && strings.TrimSpace(name) != "" {
		key = "product" // a name in another script
	}
	return key
}

// checkProducts sees to it that the waits of steps name products of the shop
// and needs that their data sheets know, and fills in how long to expect.
func (b *Bench) checkProducts(ctx context.Context, steps []parts.Step) ([]parts.Step, error) {
	if !slices.ContainsFunc(steps, func(s parts.Step) bool { return s.Product != "" }) {
		return steps, nil
	}
	all, err := b.Products(ctx)
	if err != nil {
		return nil, err
	}
	steps = slices.Clone(steps)
	for i, s := range steps {
		if s.Product == "" || !s.Wait() {
			continue
		}
		j := slices.IndexFunc(all, func(p Product) bool { return p.Key == s.Product })
		if j < 0 {
			return nil, parts.Problemf(parts.Invalid, "step-product", "Step %d, %s, waits for a product that the shop does not have.", i+1, s.Name).
				Next("Choose one of the list, or add it first.").Fact("step", i+1)
		}
		p := all[j]
		if (p.Kind == drying.Glue) == (s.Clock == parts.Drying) || s.Need != "" && !slices.Contains(p.Kind.Needs(), drying.Need(s.Need)) {
			return nil, parts.Problemf(parts.Invalid, "step-product", "Step %d, %s, waits for something that %s is not asked for.", i+1, s.Name, p.Name).
				Next("Clamps and setting are for glue, drying is for stain and finish.").Fact("step", i+1)
		}
		need := needOf(p.Product, parts.Wait{Clock: s.Clock, Need: s.Need})
		steps[i].Need, steps[i].Minutes = string(need), b.expected(p.Product, need, steps, i)
	}
	return steps, nil
}

// expected is how long a wait takes by the data sheet alone. Times of a sheet
// count from when the product was put on, those of steps one after the other.
func (b *Bench) expected(p drying.Product, need drying.Need, steps []parts.Step, i int) int {
	minutes := int(p.Takes(need).Minutes())
	for j := i - 1; j >= 0 && steps[j].Wait(); j-- {
		minutes -= steps[j].Minutes
	}
	return max(1, minutes)
}
