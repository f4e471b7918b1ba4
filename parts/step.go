package parts

import "time"

// Clock is the kind of a wait, as people call it.
type Clock string

// The clocks a step may start.
const (
	Resting Clock = "resting"   // rough-cut wood left to move
	Clamps  Clock = "in clamps" // glued, the clamps must stay on
	Setting Clock = "setting"   // glued, not to be machined yet
	Drying  Clock = "drying"    // coated, not to be touched or coated again
)

// Clocks lists every clock in the order a part meets them.
var Clocks = []Clock{Resting, Clamps, Setting, Drying}

// Step is one thing a part goes through. What it does to the wood is data;
// no rule looks at its name or its station's name.
type Step struct {
	Name    string  `json:"name"`              // "rip to width"
	Station Station `json:"station,omitempty"` // "" for a wait
	Clock   Clock   `json:"clock,omitempty"`   // for a wait: its kind
	Minutes int     `json:"minutes,omitempty"` // for a wait: how long it takes
	// Product is the key of the glue or finish that a wait is for, and Need
	// what may be done after it, in the words of its data sheet. The air of the
	// shop then says how long it lasts, and Minutes what to expect.
	Product string `json:"product,omitempty"`
	Need    string `json:"need,omitempty"`
	// Record says that the step may never be filled in: a glue-up or a coat
	// that nobody recorded would be a lie about colour or strength.
	Record bool `json:"record,omitempty"`
	// Binds marks the dry fit: from here on the parts on the bench belong to
	// this assembly and no other.
	Binds bool `json:"binds,omitempty"`
	// Glues marks a glue-up: from here on the assembly does not come apart.
	Glues bool `json:"glues,omitempty"`
	// Bores marks a step that makes holes: what is plugged is bored again here.
	Bores bool `json:"bores,omitempty"`
	// Sets is the size of the part that the machine is set to here: a fence
	// to its width, a stop to its length. Parts that agree in it share a setup.
	Sets Dimension `json:"sets,omitempty"`
	// Makes is the size that is final once this is done.
	Makes Dimension `json:"makes,omitempty"`
	// Parts marks the step that makes parts distinct: until it is done they
	// travel as blanks, several parts in one piece of wood.
	Parts bool `json:"parts,omitempty"`
	// Check says what is checked on the first piece of a setup; "" for nothing.
	Check string `json:"check,omitempty"`

	Cuts  []Face `json:"cuts,omitempty"`   // faces that lose wood here
	Bears []Face `json:"bears,omitempty"`  // faces on table, fence, stop, jig or clamp
	Joins []Face `json:"joins,omitempty"`  // faces that get glue
	Coats []Face `json:"coats,omitempty"`  // faces that get a coat; these are its side
	Coat  string `json:"coat,omitempty"`   // what the coat is: "stain"
	Mix   string `json:"mix,omitempty"`    // key of the mix that it is of; "" for a shop that keeps none
	Scuff bool   `json:"scuffs,omitempty"` // roughens a coat so that glue or the next coat holds

	// TouchUp marks a coat on spots, after fitting: from the jar of the batch
	// that the piece got before.
	TouchUp bool `json:"touch_up,omitempty"`

	Safe  Smallest `json:"safe,omitzero"`   // the smallest piece that is safe here
	Snipe Length   `json:"snipe,omitempty"` // what the machine may spoil at each end

	SetupMinutes int `json:"setup_minutes,omitempty"` // expected, to set the machine
	EachSeconds  int `json:"each_seconds,omitempty"`  // expected, for each piece

	// Latest ends the recoat window of a wait, in minutes from its start; 0
	// where the product has none. Missed is what its data sheet says then.
	Latest int    `json:"latest,omitempty"`
	Missed string `json:"missed,omitempty"`
}

// Smallest is the shortest, narrowest and thinnest piece that is safe at a
// machine; zero where that does not matter.
type Smallest struct {
	Length Length `json:"length,omitempty"`
	Width  Length `json:"width,omitempty"`
	Thick  Length `json:"thick,omitempty"`
}

// Face is a side of a part, or several that are alike.
type Face string

// The faces of a part.
const (
	ShowFace Face = "show face"
	BackFace Face = "back"
	Edges    Face = "edges"
	Ends     Face = "ends"
)

// Faces lists every face.
var Faces = []Face{ShowFace, BackFace, Edges, Ends}

// Dimension is a size of a part, or its pattern of holes, by which a machine
// is set.
type Dimension string

// What a machine is set to.
const (
	ToLength    Dimension = "length"
	ToWidth     Dimension = "width"
	ToThickness Dimension = "thickness"
	ToPattern   Dimension = "pattern"
)

// Dimensions lists what a machine can be set to.
var Dimensions = []Dimension{ToLength, ToWidth, ToThickness, ToPattern}

// Wait reports whether nothing is done at the step but waiting.
func (s Step) Wait() bool { return s.Station == "" }

// Lasts is how long a wait takes.
func (s Step) Lasts() time.Duration { return time.Duration(s.Minutes) * time.Minute }

// Routing is an immutable version of a list of steps.
type Routing struct {
	ID      int64  // of this version
	Key     string // the list it is a version of: "frame-part"
	Version int
	Name    string // as people say it: "Solid-wood frame part"
	For     Kind   // Single or Assembly
	Steps   []Step
}

// NextWork is the index of the first step at or after i that is no wait, and
// len(steps) when there is none.
func NextWork(steps []Step, i int) int {
	for i < len(steps) && steps[i].Wait() {
		i++
	}
	return i
}
