package parts

import (
	"encoding/json"
	"fmt"
	"strconv"
	"time"
)

// AppendJSON appends the state as encoding/json writes it, byte for byte. It
// is written out because it is most of what a scan costs: a state has a time
// for each step behind it, and the general way looks every one over.
func (s *State) AppendJSON(to []byte) ([]byte, error) {
	j := jsonText{out: append(to, '{')}
	j.always("part", string(s.Part))
	j.number("seq", int64(s.Seq))
	j.always("kind", string(s.Kind))
	j.number("job", s.Job)
	j.number("line", s.Line)
	j.number("number", int64(s.Number))
	j.text("name", s.Name)
	j.flag("spare", s.Spare)
	j.flag("test", s.Test)
	j.count("steps", s.Steps)
	j.number("next", int64(s.Next))
	j.flag("finished", s.Finished)
	j.past(s.Past)
	j.list("waits", len(s.Waits), s.Waits)
	j.list("repair", len(s.Repair), s.Repair)
	j.count("mend", int64(s.Mend))
	j.list("nicks", len(s.Nicks), s.Nicks)
	j.text("in", string(s.In))
	j.list("parts", len(s.Parts), s.Parts)
	j.text("held", s.Held)
	j.flag("scrapped", s.Scrapped)
	j.flag("void", s.Void)
	j.text("replaces", string(s.Replaces))
	j.text("replaced_by", string(s.ReplacedBy))
	j.count("copies", int64(s.Copies))
	j.flag("label_due", s.LabelDue)
	j.text("cart", string(s.Cart))
	j.list("flaws", len(s.Flaws), s.Flaws)
	j.text("doubt", s.Doubt)
	j.list("checks", len(s.Checks), s.Checks)
	j.time("delivered", s.Delivered)
	j.list("laid", len(s.Laid), s.Laid)
	j.key("last_at")
	j.moment(s.LastAt)
	return append(j.out, '}'), j.err
}

// AppendJSON appends the detail as encoding/json writes it, byte for byte.
func (d *Detail) AppendJSON(to []byte) ([]byte, error) {
	j := jsonText{out: append(to, '{')}
	if d.Birth != nil {
		j.key("birth")
		j.value(d.Birth)
	}
	j.count("next", int64(d.Next))
	j.count("steps", d.Steps)
	if d.Place != nil {
		j.key("place")
		j.value(d.Place)
	}
	j.list("filled", len(d.Filled), d.Filled)
	j.flag("finished", d.Finished)
	j.list("waits", len(d.Waits), d.Waits)
	j.list("relied", len(d.Relied), d.Relied)
	j.list("repair", len(d.Repair), d.Repair)
	j.text("defect", d.Defect)
	j.text("called", d.Called)
	j.text("spot", d.Spot)
	j.text("photo", d.Photo)
	j.list("parts", len(d.Parts), d.Parts)
	j.text("other", string(d.Other))
	j.text("ticket", string(d.Ticket))
	j.flag("spare", d.Spare)
	j.flag("void", d.Void)
	j.text("note", d.Note)
	j.text("override", d.Override)
	j.count("clock_off", int64(d.ClockOff))
	j.count("copy", int64(d.Copy))
	j.count("batch", d.Batch)
	j.count("used", d.Used)
	j.list("laid", len(d.Laid), d.Laid)
	if d.Back != nil {
		j.key("back")
		j.value(d.Back)
	}
	return append(j.out, '}'), j.err
}

// jsonText is an object of JSON under way.
type jsonText struct {
	out []byte
	err error
}

func (j *jsonText) key(name string) {
	if j.out[len(j.out)-1] != '{' {
		j.out = append(j.out, ',')
	}
	j.out = append(append(append(j.out, '"'), name...), '"', ':')
}

func (j *jsonText) number(name string, n int64) {
	j.key(name)
	j.out = strconv.AppendInt(j.out, n, 10)
}

func (j *jsonText) always(name, text string) {
	j.key(name)
	for i := range len(text) {
		if c := text[i]; c < ' ' || c > '~' || c == '"' || c == '\\' || c == '<' || c == '>' || c == '&' {
			j.value(text)
			return
		}
	}
	j.out = append(append(append(j.out, '"'), text...), '"')
}

// What is left out when it is empty.

func (j *jsonText) count(name string, n int64) {
	if n != 0 {
		j.number(name, n)
	}
}

func (j *jsonText) text(name, text string) {
	if text != "" {
		j.always(name, text)
	}
}

func (j *jsonText) flag(name string, b bool) {
	if b {
		j.key(name)
		j.out = append(j.out, "true"...)
	}
}

func (j *jsonText) time(name string, t time.Time) {
	if !t.IsZero() {
		j.key(name)
		j.moment(t)
	}
}

// list writes what is rare in the general way.
func (j *jsonText) list(name string, n int, list any) {
	if n > 0 {
		j.key(name)
		j.value(list)
	}
}

func (j *jsonText) value(v any) {
	data, err := json.Marshal(v)
	if err != nil && j.err == nil {
		j.err = err
	}
	j.out = append(j.out, data...)
}

func (j *jsonText) moment(t time.Time) {
	if y := t.Year(); y < 0 || y > 9999 {
		j.err = fmt.Errorf("the year %d has no place in JSON", y)
		return
	}
	j.out = append(t.AppendFormat(append(j.out, '"'), time.RFC3339Nano), '"')
}

func (j *jsonText) past(past []Past) {
	if len(past) == 0 {
		return
	}
	j.key("past")
	before := byte('[')
	for _, p := range past {
		j.out = append(j.out, before, '{')
		before = ','
		j.always("how", string(p.How))
		j.time("at", p.At)
		j.count("by", p.By)
		j.out = append(j.out, '}')
	}
	j.out = append(j.out, ']')
}
