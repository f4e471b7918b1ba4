package server

import (
	"encoding/json"
	"fmt"
	"hash/fnv"
	"net/url"
	"strconv"
	"strings"

	"benchtally/parts"
	"benchtally/templates"
)

// The form of a defect has its repair steps in blocks, as the editor of steps
// has, and beside them what is said of the defect as a whole.

// newBlocks is how many blocks the form of a new defect has.
const newBlocks = 3

// defectEditor is the form of one defect with what it says.
type defectEditor struct {
	Key, Name, Again, Limit string
	Remake                  bool
	Was                     string // what was kept when the form was made
	Blocks                  []stepBlock
	Open                    bool // shown at once, because it could not be kept
}

// Sent is how many blocks the form has.
func (e defectEditor) Sent() int { return len(e.Blocks) }

// editorOf makes the form of a defect; sent is its content when it is that
// defect's. A problem of one repair step opens its block.
func editorOf(l templates.Language, d parts.Defect, stations []parts.StationRow, sent url.Values, problem *parts.Problem) (defectEditor, error) {
	form, open := writeDefect(d), sent != nil && sent.Get("key") == d.Key
	if open {
		form = sent
	} else {
		problem = nil
	}
	blocks, err := arranged(l, form, problem)
	for i, b := range blocks {
		blocks[i].Where = stepsEditor{Stations: stations, lang: l}.where(b.block)
	}
	return defectEditor{Key: d.Key, Name: form.Get("name"), Again: form.Get("again"), Limit: form.Get("limit"),
		Remake: form.Get("remake") != "", Was: printOf(d), Blocks: blocks, Open: open}, err
}

// writeDefect fills the form of a defect: readDefect reads the same from it.
func writeDefect(d parts.Defect) url.Values {
	form := writeSteps(d.Steps, parts.Style{})
	for n := len(d.Steps); d.Key == "" && n < newBlocks; n++ {
		addBlank(form)
	}
	form.Set("key", d.Key)
	form.Set("name", d.Name)
	form.Set("again", string(d.Again))
	if d.Limit != 0 {
		form.Set("limit", strconv.Itoa(d.Limit))
	}
	if d.Remake {
		form.Set("remake", "1")
	}
	return form
}

// readDefect reads a form. Where nothing repairs the defect, what the form
// says of a repair does not count.
func readDefect(form url.Values) (parts.Defect, error) {
	d := parts.Defect{Key: form.Get("key"), Name: written(form.Get("name")), Remake: form.Get("remake") != ""}
	if d.Remake {
		_, err := readBlocks(form) // torn is torn
		return d, err
	}
	d.Again = parts.Again(form.Get("again"))
	var err error
	if d.Limit, err = readTimes(form.Get("limit")); err != nil {
		return d, err
	}
	d.Steps, err = readSteps(form, parts.Inches)
	return d, err
}

// readTimes reads a number of times, 0 for an empty field. A zero that is
// typed may mean never or always, so it is asked about.
func readTimes(text string) (int, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return 0, nil
	}
	n, err := strconv.ParseUint(text, 10, 16)
	if err != nil || n == 0 {
		return 0, parts.Problemf(parts.Invalid, "defect-limit", "“%s” is not a number of times.", short(text)).
			Next("Write a number from 1 up, or leave it empty for no limit. If nothing repairs it, tick that.")
	}
	return int(n), nil
}

// printOf tells one content of a defect from another.
func printOf(d parts.Defect) string {
	data, err := json.Marshal(d)
	if err != nil {
		return ""
	}
	h := fnv.New64a()
	h.Write(data)
	return fmt.Sprintf("%016x", h.Sum64())
}
