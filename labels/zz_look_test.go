package labels

import (
	"os"
	"testing"

	"benchtally/parts"
)

func TestZZLook(t *testing.T) {
	dir := os.Getenv("ZZ")
	if dir == "" {
		t.Skip()
	}
	ls := stiles(6)
	for i := range ls {
		l := &ls[i]
		l.Grain, l.Sketch = parts.GrainLong, stileSketch(parts.BackFace)
		l.Place, l.PlaceShort = "On the back face.", []string{"back face"}
	}
	ls[1].Rough, ls[1].Name, ls[1].Size = `41 3/8" long, a blank of 3`, "Top rail 10", `11 3/8" × 2 1/4" × 3/4"`
	ls[1].Note = "in place of 11T5"
	ls[1].Place, ls[1].PlaceShort = "Tie to the blank. After boring: on the back face.", []string{"on the blank until bored, then back face", "on the blank, then back face", "back face"}
	ls[2].Place, ls[2].PlaceShort = "Keep with the ticket. After gluing dowels in: on the back face.", []string{"ticket, then back face", "back face"}
	ls[2].Note, ls[2].Rough = "dowelled both ends", `41 1/2" long`
	ls[3].Place, ls[3].PlaceShort = "Keep with the ticket. After boring: on the back face.", []string{"ticket until bored, then back face", "ticket, then back face", "back face"}
	ls[3].Hand = parts.Left
	ls[4] = Label{Address: ls[4].Address, Mark: "1462", Name: "Locker front 1", Job: "Tern Point lockers", Strip: strip(14, 12), Place: "Glued up: hang on a tag.", PlaceShort: []string{"tag"}}
	ls[5].Copy, ls[5].Name, ls[5].Hand = 2, "Back stile right", parts.Right
	for _, f := range Formats() {
		out, _ := os.Create(dir + "/" + f.Key + ".pdf")
		var some []Label
		for _, l := range ls {
			if f.Kind == OnTag {
				l.Place, l.PlaceShort = "", nil
				if l.Sketch != nil {
					l.Sketch = stileSketch("")
				}
			}
			some = append(some, l)
		}
		if err := WriteLabels(out, f, 1, some); err != nil {
			t.Fatal(err)
		}
		out.Close()
	}
}
