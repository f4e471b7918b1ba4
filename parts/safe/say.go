package safe

import (
	"fmt"

	"benchtally/parts"
)

// carry is the way out for a piece that cannot be larger at the machine.
const carry = "Carry it on a sled or a backing board as the machine's manual allows, or do it by hand."

// Say is what is wrong and the way out, as two sentences with lengths as the
// shop writes them.
func (w Warning) Say(st parts.Style) (wrong, out parts.Reason) {
	what := w.Name
	if w.Together > 1 {
		what = fmt.Sprintf("A blank for %d × %s", w.Together, w.Name)
	}
	do, doArgs := w.wayOut(st)
	return parts.Reason{Say: across[w.Dimension], Args: parts.Args{what, w.Have.Format(st), w.steps(), w.Needs.Format(st)}},
		parts.Reason{Say: do, Args: doArgs}
}

// Text is the sentence in English.
func (w Warning) Text(st parts.Style) string {
	wrong, out := w.Say(st)
	return fmt.Sprintf(wrong.Say, wrong.Args...) + " " + fmt.Sprintf(out.Say, out.Args...)
}

// across says which size it is.
var across = map[parts.Dimension]string{
	parts.ToLength:    "%s is %s long at %s, and %s is the least there.",
	parts.ToWidth:     "%s is %s wide at %s, and %s is the least there.",
	parts.ToThickness: "%s is %s thick at %s, and %s is the least there.",
}

// steps are the names of the steps that it is about.
func (w Warning) steps() string {
	text := "“" + w.Does + "”"
	for i, name := range w.Also {
		if i == len(w.Also)-1 {
			text += " and “" + name + "”"
		} else {
			text += ", “" + name + "”"
		}
	}
	return text
}

func (w Warning) wayOut(st parts.Style) (string, []any) {
	it := "it"
	if len(w.Also) > 0 {
		it = "them"
	}
	switch {
	case w.Dimension == parts.ToWidth && w.Elsewhere:
		return "Rip it from a wider piece after " + it + ", or carry it on a sled or a backing board as the machine's manual allows.", nil
	case w.Dimension == parts.ToThickness && w.Elsewhere:
		return "Leave it thicker until past " + it + ", or carry it on a backing board as the machine's manual allows.", nil
	case w.InBlank == 0:
		return carry, nil
	}
	first, until := "Leave", "until past "+it
	var args []any
	if w.After != "" {
		first, until = "Do “%s” after "+it+", and leave", "until then"
		args = append(args, w.After)
	}
	switch {
	case w.InBlank == 1:
		return first + " it %s long " + until + ".", append(args, w.Blank.Format(st))
	case w.InBlank > w.Pieces:
		// There are too few parts to fill the blank.
		return first + " it in one piece of at least %s " + until + ".", append(args, w.Needs.Format(st))
	}
	return first + " %d together in a blank of %s " + until + ".", append(args, w.InBlank, w.Blank.Format(st))
}
