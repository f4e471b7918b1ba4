package parts

import (
	"encoding/hex"
	"strings"
	"time"
)

// CommandID is the UUID a device gives to what a person asked for. The same
// id twice is one event and the same answer.
type CommandID [16]byte

// String writes the id in the usual form, lower case.
func (c CommandID) String() string {
	h := hex.EncodeToString(c[:])
	return h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:]
}

// ParseCommandID reads a UUID with or without hyphens, in any case.
func ParseCommandID(s string) (CommandID, error) {
	var c CommandID
	raw, err := hex.DecodeString(strings.ReplaceAll(s, "-", ""))
	if err != nil || len(raw) != len(c) {
		return c, Problemf(Invalid, "id-unreadable", "The id %q of this request is not a UUID.", clip(s)).
			Next("Send a new UUID with each new request, and the same one when you repeat it.")
	}
	copy(c[:], raw)
	return c, nil
}

func clip(s string) string {
	if len(s) > 40 {
		return strings.ToValidUTF8(s[:40], "") + "…"
	}
	return s
}

// MarshalText writes the id for JSON.
func (c CommandID) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads the id from JSON.
func (c *CommandID) UnmarshalText(text []byte) (err error) {
	*c, err = ParseCommandID(string(text))
	return err
}

// Scan is what a person says with a label, a ticket or a typed mark: the step
// at this station is done.
type Scan struct {
	Station  Station
	Step     int       // number of the step that is meant (see StepNumber); 0 for the next one at the station
	Count    int       // for a ticket: how many; 0 for all that are there
	Blanks   int       // for a ticket of blanks: how many of them, in place of Count
	Parts    []ID      // for an assembly: the parts on the bench; the rest may be any that are finished
	Checked  bool      // the first piece of this setup was checked and is good
	At       time.Time // when it was done
	By       int64     // who, a row of people
	Override bool      // a person overrules a wait
	Reason   string    // why
}

// repairBase keeps the numbers of repair steps clear of those of the steps.
const repairBase = 1000

// StepNumber is the number by which a scan names a step: from 1 for the
// steps of the routing, from 1001 for the repair steps put in between.
func StepNumber(index int, repair bool) int {
	if repair {
		return repairBase + index + 1
	}
	return index + 1
}

// StepIndex is the reverse of StepNumber.
func StepIndex(number int) (index int, repair bool) {
	if number > repairBase {
		return number - repairBase - 1, true
	}
	return number - 1, false
}
