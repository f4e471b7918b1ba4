package parts

import "time"

// EventKind says what happened. Kinds are past tense, and are never renamed
// or given a second meaning: the log is read for years.
type EventKind string

// Everything that can happen to a part, an assembly or a ticket.
const (
	Listed     EventKind = "listed"      // it came into the shop's books
	Did        EventKind = "done"        // a step was done; of a wait, that somebody ended it
	Mended     EventKind = "mended"      // a repair step was done
	Confirmed  EventKind = "confirmed"   // a step that nobody had recorded was recorded after all
	TakenApart EventKind = "taken-apart" // an assembly was taken apart again
	Freed      EventKind = "freed"       // a part came out of its assembly
	Rerouted   EventKind = "rerouted"    // it follows other steps from here on
	Fitted     EventKind = "fitted"      // a part was dry-fitted into an assembly
	Plugged    EventKind = "plugged"     // a hole that was off got a plug
	Scrapped   EventKind = "scrapped"    // taken out for good
	TookPlace  EventKind = "took-place"  // a spare took a scrapped part's place
	Held       EventKind = "held"        // stopped by a person
	Released   EventKind = "released"    // no longer held
	Printed    EventKind = "printed"     // a label or ticket of it was printed
	LabelWaits EventKind = "label-waits" // its label has to be printed (again)
	Reverted   EventKind = "reverted"    // the last thing was undone
	Checked    EventKind = "checked"     // the first piece of a setup was checked; on a ticket
	CheckFell  EventKind = "check-fell"  // the setup was at fault: it has to be checked again; on a ticket
	Flawed     EventKind = "flawed"      // a defect was found, and its repair begins
	Doubted    EventKind = "doubted"     // made with a setup that was at fault: to be looked at
	Cleared    EventKind = "cleared"     // looked at, and good
	Replaced   EventKind = "replaced"    // what was scrapped for good is made after all
	Skipped    EventKind = "skipped"     // steps were left out: bought or pre-finished
	Carted     EventKind = "carted"      // put on a cart, or taken off it
	Delivered  EventKind = "delivered"   // handed over to the client
	Returned   EventKind = "returned"    // came back from the client, to be repaired
)

// EventKinds lists every kind this program knows how to fold.
var EventKinds = []EventKind{Listed, Did, Mended, Confirmed, Rerouted, TakenApart, Freed, Fitted, Plugged, Scrapped,
	TookPlace, Held, Released, Printed, LabelWaits, Reverted, Checked, CheckFell, Flawed, Doubted, Cleared, Replaced,
	Skipped, Carted, Delivered, Returned}

// Event is one line of the append-only log. It carries results (the new
// position, the repair steps in full), so that history does not move when a
// table is edited.
type Event struct {
	Part     ID
	Seq      int // 1, 2, 3 ... for each part
	Kind     EventKind
	Command  CommandID // what caused it; one command may write many events
	Station  Station
	By       int64     // who, a row of people; 0 when nobody said
	At       time.Time // when it happened
	Recorded time.Time // when the server heard of it
	Step     int       // index of the step it is about; see Detail.Next
	Detail   Detail
}

// Detail is what only some kinds of event say.
type Detail struct {
	Birth    *Birth `json:"birth,omitempty"`    // Listed
	Next     int    `json:"next,omitempty"`     // Did, Mended: index of the step that comes now
	Steps    int64  `json:"steps,omitempty"`    // Rerouted: the version it follows now
	Place    *Place `json:"place,omitempty"`    // Rerouted, under way: where it stands among the other steps
	Filled   []int  `json:"filled,omitempty"`   // Did, Mended: steps not recorded that must have happened
	Finished bool   `json:"finished,omitempty"` // Did: no work is left
	Waits    []Wait `json:"waits,omitempty"`    // Did, Mended, Plugged: the clocks that run from then on
	// Relied says when each of the waits before was over, by the readings at
	// the time of the decision; nil where the clock alone counted.
	Relied   []time.Time `json:"relied,omitempty"`    // Did, Mended
	Repair   []Step      `json:"repair,omitempty"`    // Plugged, Flawed, Returned: the steps put in between, in full
	Defect   string      `json:"defect,omitempty"`    // Plugged, Flawed, Returned: key of the defect
	Called   string      `json:"called,omitempty"`    // what the defect was called then
	Spot     string      `json:"spot,omitempty"`      // where it is: "left end, hole 2"
	Photo    string      `json:"photo,omitempty"`     // name of a picture of it
	Parts    []ID        `json:"parts,omitempty"`     // Did of a dry fit: what was bound
	Other    ID          `json:"other,omitempty"`     // Fitted: the assembly; Scrapped, Replaced: what takes its place; TookPlace: what it replaces; Carted: the cart; Doubted: the piece that was off
	Ticket   ID          `json:"ticket,omitempty"`    // the ticket that was scanned, when it was not the part
	Spare    bool        `json:"spare,omitempty"`     // Scrapped: it was a spare, so nothing is short
	Void     bool        `json:"void,omitempty"`      // Scrapped: listed by mistake
	Note     string      `json:"note,omitempty"`      // a person's reason
	Override string      `json:"override,omitempty"`  // why a refusal was overruled; stays visible
	ClockOff int         `json:"clock_off,omitempty"` // seconds that the device's clock was off; corrected
	Copy     int         `json:"copy,omitempty"`      // Printed: which copy of the label
	Batch    int64       `json:"batch,omitempty"`     // Did, Mended: the batch that the coat was of; Reverted: the batch that gets Used back
	Used     int64       `json:"used,omitempty"`      // what it took of the batch, estimated, in sixteenths of a nanolitre; below zero when it is given back
	Laid     []Laid      `json:"laid,omitempty"`      // Did, Mended: the coat, a line for each side of the piece
	Back     *State      `json:"back,omitempty"`      // Reverted: the state it goes back to
}

// Birth is what a part is from the start.
type Birth struct {
	Kind     Kind   `json:"kind"`
	Job      int64  `json:"job"`
	Line     int64  `json:"line"`
	Number   int    `json:"number"` // of its line, from 1
	Spare    bool   `json:"spare,omitempty"`
	Test     bool   `json:"test,omitempty"` // a test piece, which is a spare too
	Steps    int64  `json:"steps,omitempty"`
	First    int    `json:"first,omitempty"` // index of its first step of work
	Replaces ID     `json:"replaces,omitempty"`
	Name     string `json:"name,omitempty"` // of a cart that has one of its own
}

// Wait is a clock that runs: until then the next step would spoil something.
type Wait struct {
	Clock Clock `json:"clock"`
	Step  int   `json:"step"` // index of the wait among the steps it belongs to
	// Mends says that those are the steps of the repair.
	Mends bool      `json:"mends,omitempty"`
	From  time.Time `json:"from"`
	Until time.Time `json:"until"`
	// Latest ends the recoat window; zero where the product has none.
	Latest time.Time `json:"latest,omitzero"`

	// Of a wait for a product: its key, the version of its data sheet, what may
	// be done afterwards, how many minutes that takes at the sheet's own
	// conditions, and where it was put on. Until and Latest are then the first
	// forecast.
	Product string  `json:"product,omitempty"`
	Version int     `json:"version,omitempty"`
	Need    string  `json:"need,omitempty"`
	Needs   int     `json:"needs,omitempty"`
	At      Station `json:"at,omitempty"`

	// Dry is what the readings say of it; nil where the clock alone counts. It
	// is an answer and no fact: it is never saved.
	Dry *Dry `json:"-"`
}

// Laid is a coat of a known batch on some faces of a piece.
type Laid struct {
	Coat  string `json:"coat"`
	N     int    `json:"n,omitempty"` // which coat of its kind it was; 0 in a repair
	Faces []Face `json:"faces,omitempty"`
	Batch int64  `json:"batch"`
}

// Place is where a part stands among steps it was moved to.
type Place struct {
	Past  []Past `json:"past,omitempty"`
	Waits []Wait `json:"waits,omitempty"`
	Nicks []int  `json:"nicks,omitempty"`
}
