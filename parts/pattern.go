package parts

// Pattern is a set of holes that parts are bored with. Positions are those of
// a left part that lies with its show face up.
type Pattern struct {
	Key   string `json:"key"`  // never changes: "stile-dowels"
	Name  string `json:"name"` // as people say it: "Stile, four dowels"
	Holes []Hole `json:"holes"`
}

// Hole is one hole of a pattern. Its place is that of its middle.
//
// On the show face, the back and the edges, Along runs along the part's
// length, from its left end. On an end it runs along the width, from the near
// edge.
//
// On the show face and the back, Across runs along the width, from the near
// edge. On an edge or an end it runs along the thickness, from the show face,
// the face that joints are marked from.
type Hole struct {
	Into      HoleFace `json:"into"`                 // the face that is bored
	Along     Length   `json:"along,omitempty"`      // zero for the middle
	FromFar   bool     `json:"from_far,omitempty"`   // Along is measured from the other side: the right end, the far edge
	Across    Length   `json:"across,omitempty"`     // zero for the middle
	AcrossFar bool     `json:"across_far,omitempty"` // Across is measured from the other side: the far edge, the back
	Diameter  Length   `json:"diameter"`
	Depth     Length   `json:"depth,omitempty"` // zero for right through
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
