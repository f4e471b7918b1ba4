package parts

// Defect is one entry of the shop's catalogue of what goes wrong: how it is
// repaired, and when a remake is better.
type Defect struct {
	Key   string // never changes: "hole-off"
	Name  string // as people say it: "Hole off"
	Steps []Step // what repairs it, waits included; the tap that records it starts those at their head
	Again Again  // what of the piece's own steps is done over after them
	Limit int    // times at one spot of a piece, after which a remake is proposed; 0 for no limit
	// Remake says that nothing repairs it.
	Remake bool
}

// Again says which steps a repair does over.
type Again string

// What a repair may do over. The piece then goes on from where it was.
const (
	NothingAgain Again = ""
	BoreAgain    Again = "bore"  // the step that made the hole
	CoatsAgain   Again = "coats" // the coats that a person names
	LastAgain    Again = "last"  // the last step that was done
)
