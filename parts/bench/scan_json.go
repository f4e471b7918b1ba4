package bench

import "benchtally/parts/jsontext"

// Every scan writes its request and its answer: see jsontext.

// AppendJSON appends the request as encoding/json writes it, byte for byte.
func (r *Request) AppendJSON(to []byte) ([]byte, error) {
	j := jsontext.Begin(to)
	j.String("mark", r.Mark)
	j.Text("station", string(r.Station))
	j.Count("step", int64(r.Step))
	j.Count("count", int64(r.Count))
	j.Count("blanks", int64(r.Blanks))
	jsontext.List(&j, "parts", r.Parts)
	j.Flag("checked", r.Checked)
	j.When("at", r.At)
	j.Text("by", r.By)
	j.Flag("override", r.Override)
	j.Text("reason", r.Reason)
	j.Text("note", r.Note)
	j.Text("spare", r.Spare)
	j.Text("instead", r.Instead)
	j.Text("part", r.Part)
	j.Text("cart", r.Cart)
	j.Text("defect", r.Defect)
	j.Text("spot", r.Spot)
	jsontext.List(&j, "coats", r.Coats)
	jsontext.List(&j, "side", r.Side)
	j.Text("photo", r.Photo)
	j.Count("batch", r.Batch)
	return j.End()
}

// AppendJSON appends the answer as encoding/json writes it, byte for byte.
func (a Answer) AppendJSON(to []byte) ([]byte, error) {
	j := jsontext.Begin(to)
	j.String("outcome", a.Outcome)
	j.String("command", a.Command)
	j.String("mark", string(a.Mark))
	j.String("name", a.Name)
	j.Text("kind", string(a.Kind))
	j.Text("did", a.Did)
	j.Text("station", string(a.Station))
	j.Count("count", int64(a.Count))
	j.When("at", a.At)
	jsontext.List(&j, "filled", a.Filled)
	j.Text("state", a.State)
	if a.Next != nil {
		j.Value("next", a.Next)
	}
	j.Text("new", string(a.New))
	j.Count("behind", int64(a.Behind))
	j.Count("behind_at", int64(a.BehindAt))
	j.Text("check", a.Check)
	j.Count("check_step", int64(a.CheckStep))
	j.Count("clock_off", int64(a.Off))
	j.Count("batch", a.Batch)
	jsontext.List(&j, "doubts", a.Doubts)
	j.Count("labels", int64(a.Labels))
	j.Text("label", a.Label)
	if a.Said != nil {
		j.Any("said", a.Said)
	}
	return j.End()
}

// AppendJSON appends the step as encoding/json writes it, byte for byte.
func (n *Next) AppendJSON(to []byte) ([]byte, error) {
	j := jsontext.Begin(to)
	j.Number("step", int64(n.Step))
	j.String("name", n.Name)
	j.String("station", string(n.Station))
	j.When("ready_at", n.Ready)
	return j.End()
}
