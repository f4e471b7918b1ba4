package bench

import (
	"context"
	"fmt"

	"benchtally/parts"
	"benchtally/parts/routing"
	"benchtally/parts/store"
)

// CartRow is a cart with how much lies on it.
type CartRow struct {
	parts.State
	Name  string
	Count int
}

// Carts gives the shop's carts.
func (b *Bench) Carts(ctx context.Context) ([]CartRow, error) {
	states, err := b.store.Carts(ctx)
	if err != nil {
		return nil, err
	}
	counts, err := b.store.OnCarts(ctx)
	if err != nil {
		return nil, err
	}
	var out []CartRow
	for _, s := range states {
		out = append(out, CartRow{State: s, Name: parts.PieceName(parts.Line{}, s), Count: counts[s.Part]})
	}
	return out, nil
}

// AddCart makes the next cart, with a mark of its own.
func (b *Bench) AddCart(ctx context.Context, id parts.CommandID, person string) (Answer, error) {
	c, err := hashed(store.Command{ID: id, Kind: "add-cart", By: person}, "cart")
	if err != nil {
		return Answer{}, err
	}
	a, err := b.store.AddCart(ctx, c, func(mark parts.ID, number int, who int64) (store.Decision, error) {
		birth := parts.Birth{Kind: parts.Cart, Number: number}
		events := []parts.Event{{Part: mark, Kind: parts.Listed, By: who, Step: -1, Detail: parts.Detail{Birth: &birth}}}
		return store.Decision{Events: events, Answer: func(map[parts.ID]parts.State) any {
			return Answer{Outcome: "recorded", Command: id.String(), Mark: mark, Name: fmt.Sprintf("Cart %d", number), Count: 1}
		}}, nil
	})
	return finish(c, a, err)
}

// Load puts a piece or counted pieces of a ticket on the cart that the request
// names; none takes them off.
func (b *Bench) Load(ctx context.Context, r Request) (Answer, error) {
	var cart parts.ID
	if r.Cart != "" {
		var err error
		if cart, err = parts.ParseMark(r.Cart); err != nil {
			return Answer{}, err
		}
		v, err := b.store.Look(ctx, cart)
		if err != nil {
			return Answer{}, err
		}
		if v.Subject.Kind != parts.Cart {
			return Answer{}, parts.Problemf(parts.Invalid, "not-a-cart", "%s is no cart.", cart).Next("Scan the tag of a cart.")
		}
		r.Cart = string(cart)
	}
	return b.do(ctx, "load", r, func(v parts.View, scan parts.Scan) ([]parts.Event, error) {
		return routing.Load(v, cart, scan)
	})
}
