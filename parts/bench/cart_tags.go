package bench

import (
	"context"
	"io"

	"benchtally/labels"
	"benchtally/parts"
)

const (
	cartLead    = "Scan this to move everything that lies on the cart with one tap."
	cartCaution = "Heavy at the bottom, nothing sticking out, nobody riding. Lock the wheels to load. Lift and push what is heavy with a second person. The cart's maker says what it carries."
)

// WriteCartTags draws the tags of the shop's carts, one to a page; mark
// chooses one, "" is for all.
func (b *Bench) WriteCartTags(ctx context.Context, w io.Writer, mark string) error {
	set, err := b.store.Settings(ctx)
	if err != nil {
		return err
	}
	if set.Address == "" {
		return parts.Problemf(parts.Refused, "address-unknown", "The address of this server is not set, and the codes on tags need it.").
			Next("Set it on the settings page, or start the server once.")
	}
	carts, err := b.Carts(ctx)
	if err != nil {
		return err
	}
	if carts, err = chosenCarts(carts, mark); err != nil {
		return err
	}
	tags := make([]labels.Placard, len(carts))
	for i, c := range carts {
		tags[i] = labels.Placard{Address: address(set, c.Part, 1), Title: c.Name, Mark: string(c.Part), Lead: cartLead, Caution: cartCaution}
	}
	return labels.WritePlacards(w, set.Paper, tags)
}

// chosenCarts gives the cart of a mark, or all of them; none is a problem.
func chosenCarts(carts []CartRow, mark string) ([]CartRow, error) {
	if len(carts) == 0 {
		return nil, parts.Problemf(parts.Missing, "carts-none", "The shop has no carts, so there are no tags to print.").Next("Add a cart first.")
	}
	if mark == "" {
		return carts, nil
	}
	id, err := parts.ParseMark(mark)
	if err != nil {
		return nil, err
	}
	for _, c := range carts {
		if c.Part == id {
			return []CartRow{c}, nil
		}
	}
	return nil, parts.Problemf(parts.Missing, "cart-unknown", "%s is no cart of the shop.", string(id)).Next("Choose from the list of carts.")
}
