package parts

import "benchtally/parts/jsontext"

// AppendJSON appends the state as encoding/json writes it, byte for byte. It
// is written out because every scan writes one: see jsontext.
func (s *State) AppendJSON(to []byte) ([]byte, error) {
	j := jsontext.Begin(to)
	j.String("part", string(s.Part))
	j.Number("seq", int64(s.Seq))
	j.String("kind", string(s.Kind))
	j.Number("job", s.Job)
	j.Number("line", s.Line)
	j.Number("number", int64(s.Number))
	j.Text("name", s.Name)
	j.Flag("spare", s.Spare)
	j.Flag("test", s.Test)
	j.Count("steps", s.Steps)
	j.Number("next", int64(s.Next))
	j.Flag("finished", s.Finished)
	if len(s.Past) > 0 {
		j.Value("past", s.Past)
	}
	jsontext.List(&j, "waits", s.Waits)
	jsontext.List(&j, "repair", s.Repair)
	j.Count("mend", int64(s.Mend))
	jsontext.List(&j, "nicks", s.Nicks)
	j.Text("in", string(s.In))
	jsontext.List(&j, "parts", s.Parts)
	j.Text("held", s.Held)
	j.Flag("scrapped", s.Scrapped)
	j.Flag("void", s.Void)
	j.Text("replaces", string(s.Replaces))
	j.Text("replaced_by", string(s.ReplacedBy))
	j.Count("copies", int64(s.Copies))
	j.Flag("label_due", s.LabelDue)
	j.Text("cart", string(s.Cart))
	jsontext.List(&j, "flaws", s.Flaws)
	j.Text("doubt", s.Doubt)
	jsontext.List(&j, "checks", s.Checks)
	j.When("delivered", s.Delivered)
	jsontext.List(&j, "laid", s.Laid)
	j.Time("last_at", s.LastAt)
	return j.End()
}

// AppendJSON appends the detail as encoding/json writes it, byte for byte.
func (d *Detail) AppendJSON(to []byte) ([]byte, error) {
	j := jsontext.Begin(to)
	if d.Birth != nil {
		j.Any("birth", d.Birth)
	}
	j.Count("next", int64(d.Next))
	j.Count("steps", d.Steps)
	if d.Place != nil {
		j.Any("place", d.Place)
	}
	jsontext.List(&j, "filled", d.Filled)
	j.Flag("finished", d.Finished)
	jsontext.List(&j, "waits", d.Waits)
	jsontext.List(&j, "relied", d.Relied)
	jsontext.List(&j, "repair", d.Repair)
	j.Text("defect", d.Defect)
	j.Text("called", d.Called)
	j.Text("spot", d.Spot)
	j.Text("photo", d.Photo)
	jsontext.List(&j, "parts", d.Parts)
	j.Text("other", string(d.Other))
	j.Text("ticket", string(d.Ticket))
	j.Flag("spare", d.Spare)
	j.Flag("void", d.Void)
	j.Text("note", d.Note)
	j.Text("override", d.Override)
	j.Count("clock_off", int64(d.ClockOff))
	j.Count("copy", int64(d.Copy))
	j.Count("batch", d.Batch)
	j.Count("used", d.Used)
	jsontext.List(&j, "laid", d.Laid)
	if d.Back != nil {
		j.Value("back", d.Back)
	}
	return j.End()
}
