package bench

import (
	"cmp"
	"context"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"benchtally/labels"
	"benchtally/parts"
)

const (
	badgeLead = "Scan this to say who uses a phone."
	rackLead  = "Scan this to see what lies here, or to move all of it with one tap."
)

// Badge is somebody the shop knows by name.
type Badge struct {
	Person int64
	Name   string
}

// Badges gives everybody whom the shop knows, by name.
func (b *Bench) Badges(ctx context.Context) ([]Badge, error) {
	people, err := b.store.People(ctx)
	if err != nil {
		return nil, err
	}
	var out []Badge
	for id, name := range people {
		if name == erased(id) {
			continue
		}
		out = append(out, Badge{id, name})
	}
	slices.SortFunc(out, func(a, b Badge) int { return strings.Compare(a.Name, b.Name) })
	return out, nil
}

// PersonByID gives the name of a badge.
func (b *Bench) PersonByID(ctx context.Context, id int64) (string, error) {
	people, err := b.store.People(ctx)
	if err != nil {
		return "", err
	}
	name, known := people[id]
	if !known {
		return "", parts.Problemf(parts.Missing, "person-unknown", "This badge is of nobody whom this shop knows.").
			Next("Print it again under Stations, Print badges.")
	}
	return name, nil
}

// WriteBadges draws cards for people to cut out; no names are all of them.
func (b *Bench) WriteBadges(ctx context.Context, w io.Writer, names []string) error {
	set, err := b.addressed(ctx)
	if err != nil {
		return err
	}
	all, err := b.Badges(ctx)
	if err != nil {
		return err
	}
	if all, err = chosenBadges(all, names); err != nil {
		return err
	}
	book, err := b.AccessBook(ctx)
	if err != nil {
		return err
	}
	cards := make([]labels.Placard, len(all))
	for i, p := range all {
		cards[i] = labels.Placard{Address: set.Address + badgePath(p.Person, book.Accounts[p.Person]), Title: p.Name, Lead: badgeLead,
			Caution: labels.CautionFor(labels.PersonBadge)}
	}
	return labels.WriteBadges(w, set.Paper, cards)
}

// chosenBadges gives those of the names, or all of them.
func chosenBadges(all []Badge, names []string) ([]Badge, error) {
	if len(all) == 0 {
		return nil, parts.Problemf(parts.Missing, "people-none", "The shop knows nobody by name yet, so there are no badges to print.").
			Next("Add a name on the page of badges.")
	}
	if len(names) == 0 {
		return all, nil
	}
	var out []Badge
	for _, name := range names {
		i := slices.IndexFunc(all, func(p Badge) bool { return strings.EqualFold(p.Name, strings.TrimSpace(name)) })
		if i < 0 {
			return nil, parts.Problemf(parts.Missing, "person-unnamed", "The shop knows nobody called %q.", clipText(name)).
				Next("Choose from the list of names, or add this one on the page of badges.")
		}
		out = append(out, all[i])
	}
	return out, nil
}

// clipText keeps what is shown of a text short.
func clipText(s string) string {
	s = strings.ToValidUTF8(s, "?")
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

// WriteRackPlacard draws the placard of a rack. A rack is kept as a cart that
// does not roll: mark is that cart, and title what people call the rack, "" for
// the cart's own name.
func (b *Bench) WriteRackPlacard(ctx context.Context, w io.Writer, title, mark string) error {
	set, err := b.addressed(ctx)
	if err != nil {
		return err
	}
	title = strings.TrimSpace(title)
	if utf8.RuneCountInString(title) > 40 || !utf8.ValidString(title) {
		return parts.Problemf(parts.Invalid, "rack-name", "The rack needs a name of at most 40 characters.").Next("Write what people call it: Rack by the window.")
	}
	carts, err := b.Carts(ctx)
	if err != nil {
		return err
	}
	if mark == "" {
		return parts.Problemf(parts.Invalid, "rack-cart", "The placard of a rack has to say which cart of the list the rack is.").
			Next("Add a cart for the rack on the page of carts, and choose it.")
	}
	if carts, err = chosenCarts(carts, mark); err != nil {
		return err
	}
	lead := rackLead
	if title != "" && !strings.EqualFold(title, carts[0].Name) {
		lead = carts[0].Name + " in the lists. " + lead
	}
	return labels.WritePlacards(w, set.Paper, []labels.Placard{{
		Address: address(set, carts[0].Part, 1), Title: capital(cmp.Or(title, carts[0].Name)), Mark: string(carts[0].Part), Lead: lead,
		Caution: labels.CautionFor(labels.RackPlacard),
	}})
}
