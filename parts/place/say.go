package place

import (
	"fmt"
	"slices"
	"strings"

	"benchtally/parts"
)

// Sentence is one thing that is said of a plan: a format, which is the key of
// its translations, and its values.
type Sentence struct {
	Say  string     `json:"say"`
	Args parts.Args `json:"args,omitempty"`
}

// Words are a plan in sentences: "Keep with the ticket. After boring: on the
// back face."
type Words []Sentence

// String is the words in English.
func (w Words) String() string {
	format, args := w.join()
	return fmt.Sprintf(format, args...)
}

// join makes one format of the words, with its values.
func (w Words) join() (format string, args []any) {
	var said []string
	for _, s := range w {
		said, args = append(said, s.Say), append(args, s.Args...)
	}
	return strings.Join(said, " "), args
}

// Keeper is what keeps the mark of a piece while the wood has no place for it.
type Keeper string

// The keepers. A remade piece comes alone, while the ticket of its line lies
// with the others; an assembly is nothing but its parts before its glue-up.
const (
	ByTicket Keeper = "ticket"
	ByBlank  Keeper = "blank"
	ByParts  Keeper = "parts"
)

// Say is the plan of a piece that has a ticket, as a format and its values.
// plan[i:] says what is left of it.
func Say(plan []Stretch) (format string, args []any) { return Sentences(plan, ByTicket).join() }

// Text is the plan in English.
func Text(plan []Stretch) string { return Sentences(plan, ByTicket).String() }

// Sentences says a plan for a page: where the mark is now, and where it goes
// after each step that changes that.
func Sentences(plan []Stretch, k Keeper) Words {
	var out Words
	for i, s := range plan {
		if i == 0 {
			out = append(out, opening(s, k, len(plan) == 1))
			continue
		}
		out = append(out, following(plan[i-1], s))
	}
	return out
}

// opening says where the mark is now. How long it is there is said by what
// follows; when nothing does, here.
func opening(s Stretch, k Keeper, alone bool) Sentence {
	until := alone && s.Name != ""
	switch {
	case s.Place == Ticket && k == ByBlank:
		return say("Tie to the blank.")
	case s.Place == Ticket && k == ByParts:
		return say("Keep with its parts.")
	case s.Place == Ticket && until:
		return say("Keep with the ticket until %s.", done(s.Name))
	case s.Place == Ticket:
		return say("Keep with the ticket.")
	case s.Place == Rack:
		return say("Its place on the rack stands for it.")
	case s.Place == Tag:
		if since, known := participle(s.Since); known {
			return say("%s: hang on a tag.", capital(since))
		}
		return say("Hang on a tag.")
	case until && s.Name != PutTogether:
		return onFaceUntil[s.Place].of(done(s.Name))
	}
	return onFace[s.Place]
}

// following says where the mark goes once a stretch is over.
func following(was, s Stretch) Sentence {
	after := doing(was.Name)
	switch {
	case s.Place == Ticket:
		return say("After %s: back to the ticket.", after)
	case s.Place == Rack:
		return say("After %s: its place on the rack stands for it.", after)
	case s.Place == Tag:
		return say("After %s: hang on a tag.", after)
	case was.Prints:
		return newOnFace[s.Place].of(after)
	}
	return nextOnFace[s.Place].of(after)
}

// What is said of the faces: whole sentences, for the sake of translations.
var (
	onFace      = map[Place]Sentence{Back: say("On the back face."), Edges: say("On an edge."), Ends: say("On an end.")}
	onFaceUntil = map[Place]Sentence{Back: say("On the back face until %s."), Edges: say("On an edge until %s."), Ends: say("On an end until %s.")}
	nextOnFace  = map[Place]Sentence{Back: say("After %s: on the back face."), Edges: say("After %s: on an edge."), Ends: say("After %s: on an end.")}
	newOnFace   = map[Place]Sentence{Back: say("After %s: a new one on the back face."), Edges: say("After %s: a new one on an edge."),
		Ends: say("After %s: a new one on an end.")}
)

func say(format string, args ...any) Sentence { return Sentence{Say: format, Args: args} }

// of gives a sentence its values.
func (s Sentence) of(args ...any) Sentence {
	s.Args = args
	return s
}

// short is what a place is called where a label has room for a few words.
var short = map[Place]string{Ticket: "ticket", Back: "back face", Edges: "edge", Ends: "end", Tag: "tag", Rack: "place on the rack"}

// Short says a plan for a small label, the fullest way first: "ticket until
// bored, then back face", "ticket, then back face", "back face". What is left
// out first is how long the mark stays where it is, and never where it goes.
func Short(plan []Stretch, k Keeper) []string {
	if len(plan) == 0 {
		return nil
	}
	now, last := short[plan[0].Place], short[plan[len(plan)-1].Place]
	if plan[0].Place == Ticket {
		now = map[Keeper]string{ByTicket: "ticket", ByBlank: "on the blank", ByParts: "with its parts"}[k]
	}
	until, known := participle(plan[0].Name)
	var out []string
	switch {
	case len(plan) == 1:
		if known && until != PutTogether {
			out = append(out, now+" until "+until)
		}
		return append(out, now)
	case known:
		out = append(out, now+" until "+until+", then "+last)
	}
	return append(out, now+", then "+last, last)
}

// verbs are what people call a step that is done, and what doing it is called.
var verbs = map[string]struct{ done, doing string }{
	"assemble": {"assembled", "assembling"}, "bore": {"bored", "boring"}, "clamp": {"clamped", "clamping"},
	"crosscut": {"crosscut", "crosscutting"}, "cut": {"cut", "cutting"}, "drill": {"drilled", "drilling"}, "glue": {"glued", "gluing"},
	"joint": {"jointed", "jointing"}, "mill": {"milled", "milling"}, "oil": {"oiled", "oiling"}, "paint": {"painted", "painting"},
	"plane": {"planed", "planing"}, "put": {"put", "putting"}, "rip": {"ripped", "ripping"}, "rout": {"routed", "routing"},
	"sand": {"sanded", "sanding"}, "scrape": {"scraped", "scraping"}, "screw": {"screwed", "screwing"}, "shape": {"shaped", "shaping"},
	"stain": {"stained", "staining"}, "trim": {"trimmed", "trimming"}, "wrap": {"wrapped", "wrapping"},
}

// particles may follow such a word and still read well.
var particles = []string{"apart", "back", "by", "down", "flush", "in", "level", "off", "on", "out", "smooth", "to", "together", "up"}

// done is how people say that a step is done: "bored", "glued up", "cut to
// length". A name that is no such word is quoted, and so is one like "stain,
// first coat", where what follows tells it from others.
func done(name string) string {
	if said, known := participle(name); known {
		return said
	}
	return "“" + name + "” is done"
}

// participle is what a piece is once a step is done, false where the name of
// the step does not say it.
func participle(name string) (string, bool) {
	said, verb, known := verbOf(name)
	if !known || len(said) > 1 && !slices.Contains(particles, said[1]) {
		return "", false
	}
	said[0] = verb.done
	return strings.Join(said, " "), true
}

// doing is what people call the work of a step: "boring", "gluing dowels in".
// A name that is no such word is quoted.
func doing(name string) string {
	said, verb, known := verbOf(name)
	if !known {
		return "“" + name + "”"
	}
	said[0] = verb.doing
	return strings.Join(said, " ")
}

// verbOf takes the name of a step apart, its verb first.
func verbOf(name string) (said []string, verb struct{ done, doing string }, known bool) {
	head, _, more := strings.Cut(name, ",")
	said = strings.Fields(head)
	if len(said) == 0 || more && len(said) == 1 {
		return said, verb, false
	}
	verb, known = verbs[strings.ToLower(said[0])]
	return said, verb, known
}

// capital begins a sentence.
func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
