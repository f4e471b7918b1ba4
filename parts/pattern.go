package parts

// Pattern is a set of holes that parts are bored with. Positions are those of
// a left part that lies with its show face up.
type Pattern struct {
	Key   string // never changes: "stile-dowels"
	Name  string // as people say it: "Stile, four dowels"
	Holes []Hole
}

// Hole is one hole of a pattern.
type Hole struct {
	Into     HoleFace `json:"into"`               // the face that is bored
	Along    Length   `json:"along"`              // from its end: along the face's longer side
	FromFar  bool     `json:"from_far,omitempty"` // Along is measured from the far end
	Across   Length   `json:"across,omitempty"`   // from the face's near edge; zero for its middle
	Diameter Length   `json:"diameter"`
	Depth    Length   `json:"depth,omitempty"` // zero for right through
}

// HoleFace is a face that holes are bored into, of a part that lies with its
// show face up and its length from left to right.
type HoleFace string

// The faces that can be bored.
const (
	IntoShow     HoleFace = "show face"
	IntoBack     HoleFace = "back"
	IntoNearEdge HoleFace = "near edge"
	IntoFarEdge  HoleFace = "far edge"
	IntoLeftEnd  HoleFace = "left end"
	IntoRightEnd HoleFace = "right end"
)

// HoleFaces lists every face that can be bored.
var HoleFaces = []HoleFace{IntoShow, IntoBack, IntoNearEdge, IntoFarEdge, IntoLeftEnd, IntoRightEnd}
