package bench

import (
	"context"
	"strings"
	"unicode/utf8"

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

// AddCart makes the next cart, with a mark of its own. Its name is what people
// call it, "Drying rack A" for a rack, which is a cart that does not roll; ""
// is for a number. The same request again makes one cart.
func (b *Bench) AddCart(ctx context.Context, id parts.CommandID, name, person string) (Answer, error) {
	name = strings.Join(strings.Fields(name), " ")
	if err := b.checkCartName(ctx, id, name); err != nil {
		return Answer{}, err
	}
	c, err := hashed(store.Command{ID: id, Kind: "add-cart", By: person}, strings.TrimSpace("cart "+name))
	if err != nil {
		return Answer{}, err
	}
	a, err := b.store.AddCart(ctx, c, func(mark parts.ID, number int, who int64) (store.Decision, error) {
		birth := parts.Birth{Kind: parts.Cart, Number: number, Name: name}
		events := []parts.Event{{Part: mark, Kind: parts.Listed, By: who, Step: -1, Detail: parts.Detail{Birth: &birth}}}
		return store.Decision{Events: events, Answer: func(after store.After) any {
			return Answer{Outcome: "recorded", Command: id.String(), Mark: mark, Name: parts.PieceName(parts.Line{}, after.Of(mark)), Count: 1}
		}}, nil
	})
	return outcome(c, a, err)
}

// checkCartName refuses a name that is too long or that another cart has.
func (b *Bench) checkCartName(ctx context.Context, id parts.CommandID, name string) error {
	if utf8.RuneCountInString(name) > 40 || !utf8.ValidString(name) || strings.ContainsRune(name, 0) {
		return parts.Problemf(parts.Invalid, "cart-name", "The cart needs a name of at most 40 characters.").Next("Write what people call it: Drying rack A.")
	}
	if name == "" {
		return nil
	}
	_, _, repeated, err := b.store.Answered(ctx, id)
	if err != nil || repeated {
		return err
	}
	carts, err := b.Carts(ctx)
	for _, c := range carts {
		if strings.EqualFold(c.Name, name) {
			return parts.Problemf(parts.Refused, "cart-there", "There is a cart called %q already.", c.Name).Next("Choose another name, or print the tag of that one.")
		}
	}
	return err
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
