package parts

import "time"

// EventKind says what happened. Kinds are past tense, and are never renamed
// or given a second meaning: the log is read for years.
type EventKind string

// Everything that can happen to a part, an assembly or a ticket.
const (
	Listed     EventKind = "listed"      // it came into the shop's books
	Did        EventKind = "done"        // a step was done
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
)

// EventKinds lists every kind this program knows how to fold.
var EventKinds = []EventKind{Listed, Did, Mended, Confirmed, Rerouted, TakenApart, Freed, Fitted, Plugged, Scrapped,
	TookPlace, Held, Released, Printed, LabelWaits, Reverted}

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
	Filled   []int  `json:"filled,omitempty"`   // Did, Mended: steps not recorded that must have happened
	Finished bool   `json:"finished,omitempty"` // Did: no work is left
	Waits    []Wait `json:"waits,omitempty"`    // Did, Mended, Plugged: the clocks that started
	Repair   []Step `json:"repair,omitempty"`   // Plugged: the steps put in between, in full
	Parts    []ID   `json:"parts,omitempty"`    // Did of a dry fit: what was bound
	Other    ID     `json:"other,omitempty"`    // Fitted: the assembly; Scrapped: what replaces it; TookPlace: what it replaces
	Ticket   ID     `json:"ticket,omitempty"`   // the ticket that was scanned, when it was not the part
	Note     string `json:"note,omitempty"`     // a person's reason
	Override string `json:"override,omitempty"` // why a refusal was overruled; stays visible
	Copy     int    `json:"copy,omitempty"`     // Printed: which copy of the label
	Back     *State `json:"back,omitempty"`     // Reverted: the state it goes back to
}

// Birth is what a part is from the start.
type Birth struct {
	Kind     Kind  `json:"kind"`
	Job      int64 `json:"job"`
	Line     int64 `json:"line"`
	Number   int   `json:"number"` // of its line, from 1
	Spare    bool  `json:"spare,omitempty"`
	Steps    int64 `json:"steps,omitempty"`
	First    int   `json:"first,omitempty"` // index of its first step of work
	Replaces ID    `json:"replaces,omitempty"`
}

// Wait is a clock that runs: until then the next step would spoil something.
type Wait struct {
	Clock Clock     `json:"clock"`
	Step  int       `json:"step"` // index of the wait among the steps it belongs to
	From  time.Time `json:"from"`
	Until time.Time `json:"until"`
}
