package labels

import (
	"io"

	"benchtally/parts"
)

// PlacardKind is what a placard names; each kind has its caution.
type PlacardKind string

// The kinds of placard that have a caution of their own. That of a station is
// the shop's: it is kept with the station.
const (
	RackPlacard  PlacardKind = "rack"
	CartPlacard  PlacardKind = "cart"
	PersonBadge  PlacardKind = "person"
	BoothPlacard PlacardKind = "booth"
)

// cautions are the usual ones; local rules, the product's data sheet and the
// machine's manual decide.
var cautions = map[PlacardKind]string{
	RackPlacard:  "Wet parts do not touch. Long or heavy parts go low, lifted by two. Keep the way free.",
	CartPlacard:  "Load it low and even, and see over it. Two people for what one cannot lift. Block the wheels at a machine.",
	PersonBadge:  "Off your neck at every machine: nothing that hangs near a cutter.",
	BoothPlacard: "No phone while solvent finish is sprayed. Fan on, mask on, rags in the closed metal can. The product's data sheet decides.",
}

// CautionFor gives the usual caution of a kind of placard, "" for none.
func CautionFor(k PlacardKind) string { return cautions[k] }

// A badge has the size of an identity card, 85.6 x 53.98 mm (ISO/IEC 7810,
// format ID-1, from memory), so that it fits the usual holders.
const (
	badgeW       = 85.6
	badgeH       = 53.98
	badgeColumns = 2
	badgeRows    = 4
	badgeMargin  = 4.0
	badgeCode    = 30.0
)

// WriteBadges writes placards as cards to cut out, eight to a page: for people,
// and for carts and racks that have no place for a full page. paper is "letter"
// or "a4".
func WriteBadges(w io.Writer, paper string, badges []Placard) error {
	pageW, pageH, err := pageSize(paper)
	if err != nil {
		return err
	}
	if len(badges) == 0 {
		return parts.Problemf(parts.Invalid, "placards-none", "There are no placards to print.")
	}
	addresses := make([]string, len(badges))
	for i, b := range badges {
		addresses[i] = b.Address
	}
	codes, err := encodeAll(addresses, badgeCode, pagePress)
	if err != nil {
		return err
	}
	p := newPaper(pageW, pageH, "Badges")
	page := area{x1: pageW, y1: pageH}
	for i, b := range badges {
		d, at := &drawing{}, i%(badgeColumns*badgeRows)
		if at == 0 {
			p.page()
			d.badgeCuts(page)
		}
		if err := b.badge(d, codes[i], badgeArea(page, at)); err != nil {
			return err
		}
		p.draw(d)
	}
	return p.finish(w)
}

// badgeArea is where card i of a page lies; together they lie in its middle.
func badgeArea(page area, i int) area {
	x := (page.x1-badgeColumns*badgeW)/2 + float64(i%badgeColumns)*badgeW
	y := (page.y1-badgeRows*badgeH)/2 + float64(i/badgeColumns)*badgeH
	return area{x, y, x + badgeW, y + badgeH}
}

// badgeCuts draws where to cut.
func (d *drawing) badgeCuts(page area) {
	first, last := badgeArea(page, 0), badgeArea(page, badgeColumns*badgeRows-1)
	for i := range badgeColumns + 1 {
		x := first.x0 + float64(i)*badgeW
		d.dashes(x, first.y0-5, x, last.y1+5)
	}
	for i := range badgeRows + 1 {
		y := first.y0 + float64(i)*badgeH
		d.dashes(first.x0-5, y, last.x1+5, y)
	}
}

// badge draws one card: the code with title and lead beside it, the caution
// below. A caution is never cut short.
func (pl Placard) badge(d *drawing, c code, card area) error {
	in := area{card.x0 + badgeMargin, card.y0 + badgeMargin, card.x1 - badgeMargin, card.y1 - badgeMargin}
	x, y := c.snap(in.x0), c.snap(in.y0)
	d.code(c, x, y)
	left := x + c.dark() + c.margin()
	title := style{face: bold, pt: 26, fall: 9}.set(pl.Title, in.x1-left, 2)
	foot := d.stack(title, left, y)
	lead := style{face: regular, pt: 9, fall: 6}
	lines := int((y + c.dark() - foot) / (lead.fall * mm * 1.17))
	d.stack(lead.set(pl.Lead, in.x1-left, min(3, lines)), left, foot+1)

	top := y + c.dark() + c.margin()
	sign := min(9.0, in.y1-top)
	caution := style{face: bold, pt: 8, fall: 6}.set(pl.Caution, in.width()-sign-2, 4)
	if len(caution) == 0 {
		return nil
	}
	if isCut(caution, pl.Caution) || heightOf(caution) > in.y1-top {
		return cautionLong(pl.Title)
	}
	d.warning(in.x0, in.y1-max(heightOf(caution), sign*0.87), sign)
	d.stack(caution, in.x0+sign+2, in.y1-max(heightOf(caution), sign*0.87))
	return nil
}
