package place

import (
	"fmt"
	"slices"
	"strings"
)

// Say is the plan in a line for a label and a page, as a format and its
// values: "ticket until %s; then back until %s; then tag". The values name
// the steps. plan[i:] says what is left of it.
func Say(plan []Stretch) (format string, args []any) {
	var b strings.Builder
	for i, s := range plan {
		if i > 0 {
			b.WriteString("; then ")
		}
		b.WriteString(words[s.Place])
		if i > 0 && plan[i-1].Place == s.Place {
			b.WriteString(" again")
		}
		if s.Name != "" {
			b.WriteString(" until %s")
			args = append(args, done(s.Name))
		}
	}
	return b.String(), args
}

// Text is the plan in English.
func Text(plan []Stretch) string {
	format, args := Say(plan)
	return fmt.Sprintf(format, args...)
}

// words are how people call a place where they look for a mark.
var words = map[Place]string{
	Ticket: "ticket", Back: "back", Edges: "edge", Ends: "end", Tag: "tag", Rack: "place on the rack",
}

// participles are what people say of a step that is done.
var participles = map[string]string{
	"assemble": "assembled", "bore": "bored", "clamp": "clamped", "crosscut": "crosscut", "cut": "cut", "drill": "drilled",
	"glue": "glued", "joint": "jointed", "mill": "milled", "oil": "oiled", "paint": "painted", "plane": "planed", "put": "put",
	"rip": "ripped", "rout": "routed", "sand": "sanded", "scrape": "scraped", "screw": "screwed", "shape": "shaped",
	"stain": "stained", "trim": "trimmed", "wrap": "wrapped",
}

// particles may follow such a word and still read well.
var particles = []string{"apart", "back", "by", "down", "flush", "in", "level", "off", "on", "out", "smooth", "to", "together", "up"}

// done is how people say that a step is done: "bored", "glued up", "cut to
// length". A name that is no such word is quoted, and so is one like "stain,
// first coat", where what follows tells it from others.
func done(name string) string {
	head, _, more := strings.Cut(name, ",")
	said := strings.Fields(head)
	switch {
	case len(said) == 0, more && len(said) == 1, len(said) > 1 && !slices.Contains(particles, said[1]):
	case participles[strings.ToLower(said[0])] != "":
		said[0] = participles[strings.ToLower(said[0])]
		return strings.Join(said, " ")
	}
	return "“" + name + "” is done"
}
