// Package bore is about patterns of holes: whether one makes sense, whether a
// part is large enough for it, how a person writes it, and whether left and
// right counterparts of a part bored with it are the same part. It owns no
// drilling: which step bores, and to what its machine is set, are data of the
// steps.
package bore

import (
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"benchtally/parts"
)

// MostHoles bounds a pattern: more holes than this are a slip, or a job for a
// jig that is a pattern of its own.
const MostHoles = 60

// The widest and narrowest holes that are taken for a hole and not for a slip
// of the unit; common practice, no source. Hinge cups have 35 mm.
const (
	narrowest = parts.Millimetre / 2
	widest    = 100 * parts.Millimetre
)

// longestName is the most characters of a pattern's name.
const longestName = 60

// keyForm is what the key of a pattern looks like.
var keyForm = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

// Check says what is wrong with a pattern that a person wrote, whatever the
// size of the part.
func Check(p parts.Pattern) error {
	switch {
	case !keyForm.MatchString(p.Key) || len(p.Key) > 40:
		return invalid("pattern-key", "%q cannot be a pattern's short name.", p.Key).
			Next("Use at most 40 small letters and digits, with hyphens between words.")
	case strings.TrimSpace(p.Name) == "" || utf8.RuneCountInString(p.Name) > longestName:
		return invalid("pattern-name", "The pattern needs a name of at most %d characters.", longestName).
			Next("Name it as people say it, such as “Stile, four dowels”.")
	case len(p.Holes) == 0:
		return invalid("holes-none", "The pattern has no holes.").Next("Write one hole on each line.")
	case len(p.Holes) > MostHoles:
		return invalid("holes-many", "These are %d holes; %d is the most.", len(p.Holes), MostHoles).
			Next("Make two patterns of it.")
	}
	places := Places(p)
	for i, h := range p.Holes {
		if err := checkHole("The hole “"+places[i]+"”", h); err != nil {
			return err
		}
	}
	return twice(p, places, [3]parts.Length{})
}

// checkHole judges one hole. The sentence begins with who, which names it.
func checkHole(who string, h parts.Hole) error {
	_, known := faces[h.Into]
	switch {
	case !known:
		return invalid("hole-face", "%s is bored into %q, which is no face of a part.", who, clip(string(h.Into))).Next(faceWords())
	case h.Diameter < narrowest || h.Diameter > widest:
		return invalid("hole-diameter", "%s has a diameter of %s.", who, h.Diameter.String()).
			Next("Write a diameter from 0.5 mm to 100 mm; check its unit.")
	case h.Along < 0 || h.Across < 0 || h.Along > parts.LongestLength || h.Across > parts.LongestLength:
		return invalid("hole-place", "%s lies nowhere on a part.", who).Next("Measure it from an end or an edge, and check the unit.")
	case h.Along == 0 && h.FromFar || h.Across == 0 && h.AcrossFar:
		return invalid("hole-place", "%s is in the middle and is measured from a side too.", who).Next("Write one of the two.")
	case h.Depth < 0 || h.Depth > parts.LongestLength:
		return invalid("hole-depth", "%s has a depth of %s.", who, h.Depth.String()).Next("Write how deep it is, or “through”.")
	case h.Along != 0 && 2*h.Along < h.Diameter || h.Across != 0 && 2*h.Across < h.Diameter:
		return invalid("hole-outside", "%s breaks out of the side it is measured from.", who).
			Next("Its place is that of its middle: at least half the diameter from there.")
	}
	return nil
}

// twice finds two holes at one place, sizes being those of the part as far as
// they are known. A hole right through opens on two faces and takes its place
// on both.
func twice(p parts.Pattern, places []string, s sizes) error {
	taken := map[bored]int{}
	for i, b := range lay(p, s) {
		for _, mouth := range mouths(b) {
			if first, found := taken[mouth]; found {
				return invalid("hole-twice", "The holes “%s” and “%s” are at one place.", places[first], places[i]).
					Next("Leave one out. Of a stepped hole, write the widest.")
			}
			taken[mouth] = i
		}
	}
	return nil
}

// Places names each hole in plain words, "left end, hole 2": numbered on each
// face in the order of the pattern.
func Places(p parts.Pattern) []string {
	count := map[parts.HoleFace]int{}
	names := make([]string, len(p.Holes))
	for i, h := range p.Holes {
		count[h.Into]++
		names[i] = fmt.Sprintf("%s, hole %d", clip(string(h.Into)), count[h.Into])
	}
	return names
}

func invalid(code, say string, args ...any) *parts.Problem {
	return parts.Problemf(parts.Invalid, code, say, args...)
}

// faceWords says which faces there are.
func faceWords() string {
	words := make([]string, len(parts.HoleFaces))
	for i, f := range parts.HoleFaces {
		words[i] = string(f)
	}
	return "Write one of: " + strings.Join(words, ", ") + "."
}

// clip keeps what is shown of a text short.
func clip(s string) string {
	const most = 40
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "…"
	}
	return s
}
