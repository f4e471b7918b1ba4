package parts

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Trail is what is known of the steps behind a part, by index. As JSON it is a
// text, "dmk3x9a2b.1 f s", because it is written with every scan: for each step
// how it came to lie behind, when (milliseconds since 1970, in base 36), and
// after a point by whom (in base 36); what is not known is left out. Times are
// whole milliseconds. Older logs hold it as a list of objects, which is read
// too.
type Trail []Past

const (
	trailBase  = 36
	unknownHow = '-'
)

// AppendJSON appends the trail as a text.
func (t Trail) AppendJSON(to []byte) ([]byte, error) {
	to = append(to, '"')
	for i, p := range t {
		if i > 0 {
			to = append(to, ' ')
		}
		switch p.How {
		case WasDone, WasFilled, WasSkipped:
			to = append(to, p.How...)
		case "":
			to = append(to, unknownHow)
		default:
			return to, fmt.Errorf("a step lies behind in a way %q that is not known", p.How)
		}
		if !p.At.IsZero() {
			to = strconv.AppendInt(to, p.At.UnixMilli(), trailBase)
		}
		if p.By != 0 {
			to = strconv.AppendInt(append(to, '.'), p.By, trailBase)
		}
	}
	return append(to, '"'), nil
}

// MarshalJSON writes the trail as a text.
func (t Trail) MarshalJSON() ([]byte, error) { return t.AppendJSON(nil) }

// UnmarshalJSON reads a trail in either form.
func (t *Trail) UnmarshalJSON(data []byte) error {
	if len(data) > 0 && data[0] != '"' {
		return json.Unmarshal(data, (*[]Past)(t))
	}
	var text string
	if err := json.Unmarshal(data, &text); err != nil {
		return err
	}
	steps := strings.Fields(text)
	*t = make(Trail, len(steps))
	for i, step := range steps {
		p := &(*t)[i]
		if step[0] != unknownHow {
			p.How = PastHow(step[:1])
		}
		at, by, known := strings.Cut(step[1:], ".")
		if at != "" {
			ms, err := strconv.ParseInt(at, trailBase, 64)
			if err != nil {
				return fmt.Errorf("read when step %d was done: %w", i+1, err)
			}
			p.At = time.UnixMilli(ms).UTC()
		}
		if known {
			var err error
			if p.By, err = strconv.ParseInt(by, trailBase, 64); err != nil {
				return fmt.Errorf("read by whom step %d was done: %w", i+1, err)
			}
		}
	}
	return nil
}
