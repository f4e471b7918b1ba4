package parts

import "time"

// Kind says what a mark stands for. Parts, assemblies and tickets are moved
// by the same rules.
type Kind string

// The kinds of thing that carry a mark.
const (
	Single   Kind = "part"     // one physical piece of wood
	Assembly Kind = "assembly" // parts dry-fitted and then glued or screwed together
	Ticket   Kind = "ticket"   // a slip that stands for a counted group of equal parts
	Cart     Kind = "cart"     // a tag that stands for whatever lies on a cart
)

// Counts reports whether the mark stands for a counted group of pieces.
func (k Kind) Counts() bool { return k == Ticket || k == Cart }

// Station is the key of a place where steps happen: "rip", "glue". Stations
// are rows of the shop; no rule knows one by name.
type Station string

// StationRow is what the shop says about a station.
type StationRow struct {
	Key     Station
	Name    string // as people say it: "at the saw"
	Caution string // what can hurt there, in one or two sentences
	Place   int    // its place in the order of the floor
}

// Line is one row of a cut list, or the assembly that several rows go into.
// Its parts are alike until dry fit.
type Line struct {
	ID       int64
	Job      int64
	Number   int // its place in the list, from 1
	Kind     Kind
	Name     string
	Quantity int
	Spares   int
	Tests    int // pieces for trying a setup or a colour, milled along
	PerBlank int // parts in one blank until they are made distinct; 0 and 1 for none
	Length   Size
	Width    Size
	Thick    Size
	Material string
	Notes    string
	Pattern  string // key of its pattern of holes; "" for none
	Hand     Hand   // which of a pair it is, when its pattern has a hand
	Grain    Grain  // which way its grain runs; "" when the list does not say
	Into     int64  // the line of the assembly it goes into; 0 for none
	Each     int    // how many of it one such assembly takes
	Steps    int64  // the version of the steps its parts started with
	Ticket   ID     // the ticket that stands for its pieces; "" for none
}

// Hand tells a left part from its right counterpart; "" for a part that has
// none, because it fits either place after a turn.
type Hand string

// The hands of a part.
const (
	Left  Hand = "left"
	Right Hand = "right"
)

// Grain says which way the grain of a part runs.
type Grain string

// The ways grain runs, seen along the part's length.
const (
	GrainLong   Grain = "lengthwise"
	GrainAcross Grain = "crosswise"
	GrainNone   Grain = "none" // of a sheet that has none
)

// Runs is the way the line's grain runs, "" for none: parts are cut along the
// grain where nobody says otherwise, and what is made of nothing has none.
func (l Line) Runs() Grain {
	switch {
	case l.Kind != Single || l.Grain == GrainNone:
		return ""
	case l.Grain == "" && l.Material != "":
		return GrainLong
	}
	return l.Grain
}

// Pieces is how many pieces the line gives, spares and test pieces counted.
func (l Line) Pieces() int { return l.Quantity + l.Spares + l.Tests }

// Alike reports whether a part of line o may stand in for one of l: the same
// size and material, and the same holes seen from the show face.
func (l Line) Alike(o Line) bool {
	if l.ID == o.ID {
		return true
	}
	return l.Pattern != "" && l.Pattern == o.Pattern && l.Hand == o.Hand && l.Kind == o.Kind && l.Steps == o.Steps &&
		l.Length == o.Length && l.Width == o.Width && l.Thick == o.Thick && l.Material == o.Material && l.Runs() == o.Runs()
}

// Job is one order for one client.
type Job struct {
	ID   int64
	Code string // short, for addresses and commands: "TERN-POINT"
	Name string
	Made time.Time // when it came into the shop's books
}
