package parts

// Notch is one step in the notched strip that pictures a part's life. The
// shape carries the meaning; colour only helps.
type Notch struct {
	Shape NotchShape `json:"shape"`
	// Nick marks rework at this step: a nick below the notch.
	Nick bool `json:"nick,omitempty"`
}

// NotchShape says how a notch is drawn.
type NotchShape byte

// The shapes of a notch.
const (
	OpenNotch    NotchShape = 'o' // to do: an outline
	FilledNotch  NotchShape = 'f' // done: filled
	DottedNotch  NotchShape = 'd' // not recorded but must have happened: a dotted outline
	HatchedNotch NotchShape = 'h' // in clamps, setting, drying or resting at this moment
)

// Strip is the whole picture: a notch per step, and whether the strip is
// broken because the part was scrapped.
type Strip struct {
	Notches []Notch `json:"notches"`
	Broken  bool    `json:"broken,omitempty"`
}
