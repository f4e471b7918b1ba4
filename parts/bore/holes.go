package bore

import (
	"slices"
	"strconv"
	"strings"

	"benchtally/parts"
)

// ParseHoles reads holes as a person types them, one on each line:
//
//	left end 3/4 dia 3/8 deep 1 1/4
//	right end 3/4 from far edge dia 3/8 deep 1 1/4
//	near edge 3 from right end, 1/4 from show face, dia 5 mm, deep 11 mm
//	back middle dia 1/4 through
//
// A line names the face, how far along it the hole is, its diameter, and how
// deep it is or that it goes through. Along the show face, the back and the
// edges is from the left end unless it says "from right end"; along an end is
// from the near edge unless it says "from far edge"; "middle" is the middle.
// Where nothing more is said the hole is in the middle across the face; on the
// show face and the back that is "from near edge" or "from far edge", on edges
// and ends "from show face" or "from back". Numbers without a unit are meant
// as w says. A comma and a space end a number; empty lines and capitals mean
// nothing.
//
// The error is an Invalid Problem that begins with the number of the line.
func ParseHoles(text string, w parts.Writing) ([]parts.Hole, error) {
	var holes []parts.Hole
	for i, line := range strings.Split(text, "\n") {
		r := reading{line: "Line " + strconv.Itoa(i+1), writing: w, words: wordsOf(line)}
		if len(r.words) == 0 {
			continue
		}
		if len(holes) == MostHoles {
			return nil, invalid("holes-many", "%s: that is more than %d holes, which is the most.", r.line, MostHoles).
				Next("Make two patterns of it.")
		}
		h, err := r.read()
		if err != nil {
			return nil, err
		}
		holes = append(holes, h)
	}
	return holes, nil
}

// The words of a line that are not numbers.
const (
	middleWord  = "middle"
	diaWord     = "dia"
	deepWord    = "deep"
	throughWord = "through"
	fromWord    = "from"
	comma       = ","
)

// endsNumber are the words at which a number is over.
var endsNumber = []string{middleWord, diaWord, deepWord, throughWord, fromWord, comma}

// sameWords are other ways to write a word of a line.
var sameWords = map[string]string{"diameter": diaWord, "dia.": diaWord, "ø": diaWord}

// reading is a line as far as it is read.
type reading struct {
	line    string // its name, "Line 3"
	writing parts.Writing
	words   []string // still to be read, in small letters
	hole    parts.Hole
	said    map[string]bool
}

// What a line says, as its problems name it.
const (
	sayPlace  = "where the hole is along the face"
	sayAcross = "where the hole is across the face"
	sayDia    = "how wide the hole is"
	sayDeep   = "how deep the hole is"
)

// wordsOf splits a line. A comma or semicolon after a word is a word of its
// own, which ends a number; inside a number it is a part of it.
func wordsOf(line string) []string {
	var words []string
	for _, word := range strings.Fields(strings.ToLower(line)) {
		bare := strings.TrimRight(word, ",;")
		if same, ok := sameWords[bare]; ok {
			words = append(words, same)
		} else if bare != "" {
			words = append(words, bare)
		}
		if bare != word && len(words) > 0 {
			words = append(words, comma)
		}
	}
	return words
}

// read reads the line, which has words.
func (r *reading) read() (parts.Hole, error) {
	into := r.oneOf(parts.HoleFaces)
	if into == "" {
		return r.hole, invalid("hole-face", "%s: %q is no face of a part.", r.line, clip(strings.Join(r.words, " "))).Next(faceWords())
	}
	r.hole.Into, r.said = into, map[string]bool{}
	for len(r.words) > 0 {
		if err := r.clause(); err != nil {
			return r.hole, err
		}
	}
	for _, must := range []struct{ say, code, do string }{
		{sayPlace, "hole-place", "Write how far it is from the left end, on an end from the near edge, or “middle”."},
		{sayDia, "hole-diameter", "Write “dia” and the diameter."},
		{sayDeep, "hole-depth", "Write “deep” and the depth, or “through”."},
	} {
		if !r.said[must.say] {
			return r.hole, invalid(must.code, "%s does not say %s.", r.line, must.say).Next(must.do)
		}
	}
	return r.hole, checkHole(r.line, r.hole)
}

// clause reads what the next word begins: a place, a diameter or a depth.
func (r *reading) clause() (err error) {
	switch r.words[0] {
	case comma:
		r.words = r.words[1:]
		return nil
	case middleWord:
		r.words = r.words[1:]
		return r.say(sayPlace, "hole-place")
	case throughWord:
		r.words = r.words[1:]
		return r.say(sayDeep, "hole-depth")
	case diaWord:
		r.words = r.words[1:]
		if r.hole.Diameter, err = r.length(); err != nil {
			return err
		}
		return r.say(sayDia, "hole-diameter")
	case deepWord:
		r.words = r.words[1:]
		if r.hole.Depth, err = r.length(); err != nil {
			return err
		}
		return r.say(sayDeep, "hole-depth")
	}
	return r.place()
}

// place reads a distance and from which side it is measured.
func (r *reading) place() error {
	d, err := r.length()
	if err != nil {
		return err
	}
	from := side{}
	if len(r.words) > 0 && r.words[0] == fromWord {
		r.words = r.words[1:]
		var ok bool
		if from, ok = r.from(); !ok {
			return invalid("hole-from", "%s measures from %q.", r.line, clip(strings.Join(r.words, " "))).Next(fromWords(r.hole.Into))
		}
	}
	if from.across {
		r.hole.Across, r.hole.AcrossFar = d, from.far
		return r.say(sayAcross, "hole-place")
	}
	r.hole.Along, r.hole.FromFar = d, from.far
	return r.say(sayPlace, "hole-place")
}

// length reads the words up to the next that is no part of a number.
func (r *reading) length() (parts.Length, error) {
	n := slices.IndexFunc(r.words, func(word string) bool {
		return slices.Contains(endsNumber, word)
	})
	if n < 0 {
		n = len(r.words)
	}
	text := strings.Join(r.words[:n], " ")
	r.words = r.words[n:]
	l, err := parts.ParseLength(text, r.writing)
	if p := parts.AsProblem(err); p != nil {
		q := *p
		q.Say, q.Args = "%s: "+p.Say, append(parts.Args{r.line}, p.Args...)
		return 0, &q
	}
	return l, err
}

// say marks something as said; a line says nothing twice.
func (r *reading) say(what, code string) error {
	if r.said[what] {
		return invalid(code, "%s says twice %s.", r.line, what).Next("Write one hole on each line.")
	}
	r.said[what] = true
	return nil
}

// oneOf takes the name of a face off the front of the words, "" when none of
// them is there.
func (r *reading) oneOf(names []parts.HoleFace) parts.HoleFace {
	for _, name := range names {
		words := strings.Fields(string(name))
		if len(r.words) >= len(words) && slices.Equal(r.words[:len(words)], words) {
			r.words = r.words[len(words):]
			return name
		}
	}
	return ""
}
