package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"benchtally/labels"
	"benchtally/parts"
)

// Format is a format of paper that labels can be printed on in this shop.
type Format struct {
	labels.Format
	Adjust labels.Adjust // how far the shop's printer is off on it
	Own    bool          // the shop's own, not a ready-made one
}

// keptFormat is what the shop keeps of a format: all of its own, and how far
// the printer is off on one.
type keptFormat struct {
	Format *labels.Format `json:"format,omitempty"` // nil for a ready-made one
	Adjust labels.Adjust  `json:"adjust,omitzero"`
}

// Formats lists the formats that can be chosen: the ready-made ones, the
// default first, then the shop's own by name.
func (b *Bench) Formats(ctx context.Context) ([]Format, error) {
	rows, err := b.store.Formats(ctx)
	if err != nil {
		return nil, err
	}
	var out, own []Format
	kept := map[string]keptFormat{}
	for key, row := range rows {
		k, err := readFormat(row)
		if err != nil {
			return nil, fmt.Errorf("read format %s: %w", key, err)
		}
		kept[key] = k
		if k.Format != nil {
			own = append(own, Format{Format: *k.Format, Adjust: k.Adjust, Own: true})
		}
	}
	for _, f := range labels.Formats() {
		out = append(out, Format{Format: f, Adjust: kept[f.Key].Adjust})
	}
	slices.SortFunc(own, func(a, b Format) int {
		return strings.Compare(strings.ToLower(a.Name)+a.Key, strings.ToLower(b.Name)+b.Key)
	})
	return append(out, own...), nil
}

func readFormat(row json.RawMessage) (k keptFormat, err error) {
	if len(row) > 0 {
		err = json.Unmarshal(row, &k)
	}
	return k, err
}

// Format finds a format by its key.
func (b *Bench) Format(ctx context.Context, key string) (Format, error) {
	all, err := b.Formats(ctx)
	if err != nil {
		return Format{}, err
	}
	var keys []string
	for _, f := range all {
		if f.Key == key {
			return f, nil
		}
		keys = append(keys, f.Key)
	}
	return Format{}, parts.Problemf(parts.Invalid, "sheet-unknown", "There is no label sheet %q.", key).
		Next("Use one of: %s.", strings.Join(keys, ", "))
}

// mostFormats bounds the list that people choose from.
const mostFormats = 100

// SaveFormat adds a format of the shop's own, which gets a key from its name,
// or changes the one that has its key. What was printed on it stays as it was.
// The same new format sent twice is added once.
func (b *Bench) SaveFormat(ctx context.Context, f labels.Format) (Format, error) {
	f.Name = strings.Join(strings.Fields(f.Name), " ")
	if f.Name == "" || utf8.RuneCountInString(f.Name) > 60 {
		return Format{}, parts.Problemf(parts.Invalid, "format-name", "The format needs a name of at most 60 characters.").
			Next("Write what is on the packet, or what you use it for.")
	}
	all, err := b.Formats(ctx)
	if err != nil {
		return Format{}, err
	}
	for _, o := range all {
		switch {
		case o.Key == f.Key && !o.Own:
			return Format{}, parts.Problemf(parts.Refused, "format-ready-made", "%s is ready-made and stays as it is.", o.Name).
				Next("Add a format of your own under another name.")
		case !strings.EqualFold(o.Name, f.Name) || o.Key == f.Key:
		case f.Key == "" && o.Own && sameFormat(o.Format, f):
			return o, nil
		default:
			return Format{}, parts.Problemf(parts.Refused, "format-there", "There is a format called %q already.", o.Name).
				Next("Change that one, or choose another name.")
		}
	}
	if f.Key == "" && len(all) >= mostFormats {
		return Format{}, parts.Problemf(parts.Refused, "formats-many", "The shop has %d formats, and that is the most.", len(all)).
			Next("Change one that is not used any more.")
	}
	if f.Key == "" {
		f.Key = formatKey(f.Name, all)
	}
	return b.keepFormat(ctx, f)
}

func (b *Bench) keepFormat(ctx context.Context, f labels.Format) (Format, error) {
	if err := labels.CheckFormat(f); err != nil {
		return Format{}, err
	}
	var k keptFormat
	err := b.changeFormat(ctx, f.Key, func(was *keptFormat) {
		was.Format = &f
		k = *was
	})
	return Format{Format: f, Adjust: k.Adjust, Own: true}, err
}

// sameFormat reports whether two formats differ in nothing but their keys.
func sameFormat(a, b labels.Format) bool {
	a.Key, b.Key = "", ""
	return a == b
}

// formatKey makes a key of a name that no format has.
func formatKey(name string, all []Format) string {
	short := "own-" + strings.ToLower(codeOf(name))
	key := short
	for n := 2; slices.ContainsFunc(all, func(o Format) bool { return o.Key == key }); n++ {
		key = fmt.Sprintf("%s-%d", short, n)
	}
	return key
}

// SetAdjust keeps how far the shop's printer is off on a format, worked out
// from what was measured on the calibration page; nil for a printer that is
// right. What was ordered before is printed as it was.
func (b *Bench) SetAdjust(ctx context.Context, key string, m *labels.Measured) (labels.Adjust, error) {
	f, err := b.Format(ctx, key)
	if err != nil {
		return labels.Adjust{}, err
	}
	var a labels.Adjust
	if m != nil {
		if a, err = labels.AdjustFor(f.Format, *m); err != nil {
			return a, err
		}
	}
	return a, b.changeFormat(ctx, key, func(k *keptFormat) { k.Adjust = a })
}

// changeFormat changes what is kept of a format.
func (b *Bench) changeFormat(ctx context.Context, key string, change func(*keptFormat)) error {
	return b.store.SaveFormat(ctx, key, func(was json.RawMessage) (json.RawMessage, error) {
		k, err := readFormat(was)
		if err != nil {
			return nil, fmt.Errorf("read format %s: %w", key, err)
		}
		change(&k)
		return json.Marshal(k)
	})
}
