package bench

import (
	"context"
	"fmt"
	"slices"
	"time"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/bore"
	"benchtally/parts/place"
	"benchtally/parts/safe"
)

// draft is what labels and tickets of a job are written from.
type draft struct {
	job      JobPieces
	set      parts.Settings
	patterns map[string]parts.Pattern // by key
	format   labels.Format
	words    stepWords
	now      time.Time
}

// draftOf reads what the labels of a job are written from.
func (b *Bench) draftOf(ctx context.Context, job JobPieces, set parts.Settings, f *labels.Format) (draft, error) {
	d := draft{job: job, set: set, patterns: map[string]parts.Pattern{}, format: *f, now: b.Now()}
	all, err := b.store.Patterns(ctx)
	if err != nil {
		return d, err
	}
	for _, p := range all {
		d.patterns[p.Key] = p
	}
	d.words, err = b.stepWords(ctx, job, set)
	return d, err
}

// try draws one label, so that nothing is recorded as printed that cannot be
// drawn: an address may be too long for a small label.
func (d draft) try(what string, s parts.State) error {
	if what == "tickets" {
		return nil
	}
	_, err := labels.LabelSVG(d.format, d.label(s, s.Copies+1))
	return err
}

// label is what one label shows.
func (d draft) label(s parts.State, copyNumber int) labels.Label {
	l := d.job.LineOf(s)
	r := d.job.Routings[s.Steps]
	out := labels.Label{
		Address: address(d.set, s.Part, copyNumber), Mark: string(s.Part), Name: parts.PieceName(l, s), Size: SizeText(l, d.set.Style()),
		Material: l.Material, Assembly: d.job.intoName(l), Job: d.job.Job.Name, Copy: copyNumber, Hand: l.Hand,
		Strip: parts.StripOf(r, s, d.now), Note: l.Notes,
	}
	if s.Replaces != "" {
		out.Note = "in place of " + string(s.Replaces)
	}
	if s.Kind == parts.Single {
		out.Grain = l.Runs()
		out.Rough = d.rough(l, r, s)
	}
	var seat parts.Face
	// Where it sits depends on how large it is. A tag hangs and says nothing.
	if s.In == "" && d.format.Kind != labels.OnTag {
		out.Place, out.PlaceShort, seat = placeOn(place.Plan(l, r, sizeOf(d.format)), s)
	}
	out.Sketch = d.sketch(l, seat)
	return out
}

// labelWords says where the label of a piece sits and where it goes later. The
// page of the piece, the labels that wait and what is told after a scan all
// say it in these words.
func labelWords(plan []place.Stretch, s parts.State) place.Words {
	return place.Sentences(place.Left(plan, s.Next), keeperOf(s))
}

// keeperOf is what keeps the mark of a piece that has no place for it. What is
// remade comes alone, while the ticket of its line lies with the others.
func keeperOf(s parts.State) place.Keeper {
	switch {
	case s.Kind == parts.Assembly:
		return place.ByParts
	case s.Replaces != "":
		return place.ByBlank
	}
	return place.ByTicket
}

// placeOn says on a label where it sits now, in words for a large and a small
// one, and the face it sits on. One that is printed ahead says where it goes
// then; how long it lasts there is left out.
func placeOn(plan []place.Stretch, s parts.State) (words string, short []string, seat parts.Face) {
	left := place.Left(plan, s.Next)
	if len(left) == 0 {
		return "", nil, ""
	}
	on, said := left[0], left[:1]
	if len(left) > 1 && !on.Prints {
		said, on = []place.Stretch{on, left[1]}, left[1]
		said[1].Name = ""
	}
	switch on.Place {
	case place.Back, place.Edges, place.Ends:
		seat = parts.Face(on.Place)
	}
	return place.Sentences(said, keeperOf(s)).String(), place.Short(said, keeperOf(s)), seat
}

// rough is how long the piece is before anything is cut to its last length,
// "" from then on. Several parts in one blank are one piece until the cut.
func (d draft) rough(l parts.Line, r parts.Routing, s parts.State) string {
	long, each := roughLength(l, r, s)
	if long == 0 {
		return ""
	}
	text := long.Format(d.set.Style()) + " long"
	if each > 1 {
		text += fmt.Sprintf(", a blank of %d", each)
	}
	return text
}

// lastCut is the index of the step that cuts a part to its last length, or out
// of its blank; -1 for none.
func lastCut(r parts.Routing) int {
	return slices.IndexFunc(r.Steps, func(st parts.Step) bool { return st.Parts || st.Makes == parts.ToLength })
}

// roughLength is how long a blank is cut and how many parts it gives; 0 once
// the piece has its last length.
func roughLength(l parts.Line, r parts.Routing, s parts.State) (long parts.Length, each int) {
	cut := lastCut(r)
	if cut < 0 || s.Next > cut {
		return 0, 0
	}
	each = max(1, l.PerBlank)
	if long = safe.BlankLength(l, r, each, safe.Usual()); long <= l.Length.Length {
		return 0, 0
	}
	return long, each
}

// sketch is the picture of a part with its holes: on a right part they are
// those of the left one in a mirror. nil when its size is not known.
func (d draft) sketch(l parts.Line, seat parts.Face) *labels.Sketch {
	if l.Length.ToSuit || l.Width.ToSuit || l.Length.Length <= 0 || l.Width.Length <= 0 {
		return nil
	}
	out := &labels.Sketch{Length: l.Length.Length, Width: l.Width.Length, Seat: seat, Grain: l.Runs()}
	if !l.Thick.ToSuit {
		out.Thick = l.Thick.Length
	}
	if p, known := d.patterns[l.Pattern]; known {
		if l.Hand == parts.Right {
			p = bore.Mirror(p)
		}
		out.Holes = p.Holes
	}
	return out
}

// mostBlanks is how many blanks of a line get a stub of their own.
const mostBlanks = 200

// ticket is what one ticket shows. What is done is what is done of the part
// that is furthest behind.
func (d draft) ticket(s parts.State) labels.Ticket {
	l := d.job.LineOf(s)
	r := d.job.Routings[d.job.StepsOf(l)]
	last, some := d.job.furthestBehind(l)
	if some {
		r = d.job.Routings[last.Steps]
	}
	out := labels.Ticket{
		Address: address(d.set, s.Part, 1), Mark: string(s.Part), Name: l.Name, Size: SizeText(l, d.set.Style()), Material: l.Material,
		Assembly: d.job.intoName(l), Job: d.job.Job.Name, Note: l.Notes, Count: l.Quantity, Spares: l.Spares,
		Strip: parts.StripOf(r, last, d.now), Steps: d.words.all(r, last),
	}
	if l.Kind == parts.Single {
		out.Rough, out.RoughWhy = d.roughOnTicket(l, r, last)
	}
	// Test pieces ride along like spares, and come out of the same blanks.
	if l.Tests > 0 {
		out.Spares += l.Tests
		out.Note = joinWords(fmt.Sprintf("%d of the spares for trying a setup or a colour", l.Tests), out.Note)
		if l.Spares == 0 {
			out.Note = joinWords("the spares are for trying a setup or a colour", l.Notes)
		}
	}
	if blanks := (l.Pieces() + l.PerBlank - 1) / max(1, l.PerBlank); l.PerBlank > 1 && d.job.inBlanks(l, r) {
		out.PerBlank = l.PerBlank
		if blanks > mostBlanks {
			out.PerBlank = 0 // too many to tear off: the ticket says how many lie in one
			out.Note = joinWords(fmt.Sprintf("%d blanks, %d in each", blanks, l.PerBlank), out.Note)
		}
	}
	return out
}

func joinWords(a, b string) string {
	if b == "" {
		return a
	}
	return a + "; " + b
}

// inBlanks reports whether pieces of a line still travel as blanks.
func (j JobPieces) inBlanks(l parts.Line, r parts.Routing) bool {
	cut := slices.IndexFunc(r.Steps, func(s parts.Step) bool { return s.Parts })
	return cut >= 0 && slices.ContainsFunc(j.States, func(s parts.State) bool {
		return s.Line == l.ID && !s.Kind.Counts() && !s.Scrapped && s.Next <= cut
	})
}

// intoName is the name of what a line goes into.
func (j JobPieces) intoName(l parts.Line) string {
	i := slices.IndexFunc(j.Lines, func(o parts.Line) bool { return o.ID == l.Into })
	if i < 0 {
		return ""
	}
	return j.Lines[i].Name
}

// address is the complete text of a code: from the second copy on it says
// which copy it is.
func address(set parts.Settings, id parts.ID, copyNumber int) string {
	if copyNumber > 1 {
		return fmt.Sprintf("%s/P/%d/%s", set.CodeAddress(), copyNumber, id)
	}
	return set.CodeAddress() + "/P/" + string(id)
}

// SizeText is the finished size of a line as the shop writes it.
func SizeText(l parts.Line, st parts.Style) string {
	text := ""
	for _, s := range []parts.Size{l.Length, l.Width, l.Thick} {
		if s == (parts.Size{}) {
			continue
		}
		if text != "" {
			text += " × "
		}
		text += s.Format(st)
	}
	return text
}

// LabelPreview draws the label that printing would give a piece on a format
// now, as a picture for a page. "" is the shop's format. It prints nothing.
func (b *Bench) LabelPreview(ctx context.Context, mark, format string) (string, error) {
	set, err := b.printSettings(ctx)
	if err != nil {
		return "", err
	}
	p, err := b.jobToPrint(ctx, PrintRequest{What: "labels", Marks: []string{mark}})
	if err != nil {
		return "", err
	}
	r := PrintRequest{What: "labels", Job: p.Job.Code, Marks: []string{mark}, Sheet: format}
	paper, err := b.paperFor(ctx, r, set)
	if err != nil {
		return "", err
	}
	states, err := b.chosen(ctx, p, r, set)
	if err != nil {
		return "", err
	}
	d, err := b.draftOf(ctx, p, set, paper.Format)
	if err != nil {
		return "", err
	}
	return labels.LabelSVG(d.format, d.label(states[0], states[0].Copies+1))
}
