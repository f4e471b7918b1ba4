package server

import (
	"cmp"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"benchtally/parts"
)

// The form of the editor has a block of fields for each step: step-3-name is
// the name in the third block. A box that is not ticked sends nothing, so the
// form also says how many blocks it has ("steps") and ends with "whole".

// mostBlocks bounds the form: the longest list of steps and some blank blocks.
const mostBlocks = 60

// waitsFor stands before the kind of a wait where others have a station.
const waitsFor = "wait:"

// productNeed stands between a product and what is waited for.
const productNeed = "|"

// stepField names a field of a block.
func stepField(block int, name string) string { return "step-" + strconv.Itoa(block) + "-" + name }

// block is one step as it was typed.
type block struct {
	Index int
	form  url.Values
	place float64
}

// Field is the name of one of its fields.
func (b block) Field(name string) string { return stepField(b.Index, name) }

// Value is what was typed in a field.
func (b block) Value(name string) string { return b.form.Get(b.Field(name)) }

// Has reports whether a field has a value: a box that is ticked has "1".
func (b block) Has(name, value string) bool { return slices.Contains(b.form[b.Field(name)], value) }

// Ticked reports whether a box is ticked.
func (b block) Ticked(name string) bool { return b.Has(name, "1") }

// Empty reports whether the block has no name, and so is no step.
func (b block) Empty() bool { return written(b.Value("name")) == "" }

// gone reports whether the block is no step of the list.
func (b block) gone() bool { return b.Empty() || b.Ticked("out") }

// readSteps gives the steps that a form of the editor has, in the order of
// their numbers. Sizes without a unit are in unit. Blocks without a name or
// ticked as out are left out. A problem of one step carries its number in
// that order as the fact "step".
func readSteps(form url.Values, unit parts.Unit) ([]parts.Step, error) {
	blocks, err := readBlocks(form)
	if err != nil {
		return nil, err
	}
	if p := sortBlocks(blocks); p != nil {
		return nil, p
	}
	var steps []parts.Step
	for _, b := range blocks {
		if b.gone() {
			continue
		}
		r := blockReader{block: b, unit: unit}
		step := r.step()
		if r.problem != nil {
			return nil, r.problem.Fact("step", len(steps)+1)
		}
		steps = append(steps, step)
	}
	return steps, nil
}

// readBlocks takes a form apart, in the order of the page.
func readBlocks(form url.Values) ([]block, error) {
	n, err := strconv.Atoi(form.Get("steps"))
	torn := err != nil || n < 0 || form.Get("whole") == ""
	if !torn && n > mostBlocks {
		return nil, parts.Problemf(parts.Invalid, "steps-many", "These are %d steps, more than the page takes at once.", n).Next("Leave some out.")
	}
	var blocks []block
	for i := 1; i <= n && !torn; i++ {
		for _, name := range []string{"number", "name", "at"} {
			torn = torn || !form.Has(stepField(i, name))
		}
		blocks = append(blocks, block{Index: i, form: form})
	}
	if torn {
		return nil, parts.Problemf(parts.Invalid, "steps-torn", "The form did not arrive whole.").Next("Go back and send it again.")
	}
	return blocks, nil
}

// sortBlocks puts the blocks in the order of their numbers; equal ones stay
// as they are. Its problem carries the block as the fact "block".
func sortBlocks(blocks []block) *parts.Problem {
	for i, b := range blocks {
		place, ok := amount(b.Value("number"))
		if !ok && !b.gone() {
			return parts.Problemf(parts.Invalid, "step-order", "The number “%s” of %s cannot be read.", short(b.Value("number")), short(b.Value("name"))).
				Next("Number the steps; 3.5 goes between 3 and 4.").Fact("block", b.Index)
		}
		if !ok {
			place = math.Inf(1)
		}
		blocks[i].place = place
	}
	slices.SortStableFunc(blocks, func(a, b block) int { return cmp.Compare(a.place, b.place) })
	return nil
}

// blockReader reads the fields of one block. It keeps the first thing that is
// wrong and goes on, so that reading a step is a list of its fields.
type blockReader struct {
	block
	unit    parts.Unit
	problem *parts.Problem
}

func (r *blockReader) step() parts.Step {
	clock, isWait := strings.CutPrefix(r.Value("at"), waitsFor)
	if isWait {
		s := parts.Step{Name: r.text("name"), Clock: parts.Clock(clock)}
		s.Product, s.Need, _ = strings.Cut(r.Value("product"), productNeed)
		if s.Product != "" { // its data sheet says how long
			s.Minutes = r.minutes("hours")
		} else {
			s.Minutes = r.wait("hours")
		}
		if s.Clock == parts.Drying { // the page hides the window of others
			s.Latest, s.Missed = r.minutes("latest"), r.text("missed")
		}
		return s
	}
	return parts.Step{
		Name: r.text("name"), Station: parts.Station(r.Value("at")),
		Record: r.Ticked("record"), Binds: r.Ticked("binds"), Glues: r.Ticked("glues"), Bores: r.Ticked("bores"),
		Sets: parts.Dimension(r.Value("sets")), Makes: parts.Dimension(r.Value("makes")), Parts: r.Ticked("parts"), Check: r.text("check"),
		Cuts: r.faces("cuts"), Bears: r.faces("bears"), Joins: r.faces("joins"), Coats: r.faces("coats"),
		Coat: r.text("coat"), Mix: r.Value("mix"), TouchUp: r.Ticked("touch-up"), Scuff: r.Ticked("scuffs"),
		Safe: parts.Smallest{
			Length: r.length("safe-length", "the smallest safe length"),
			Width:  r.length("safe-width", "the smallest safe width"),
			Thick:  r.length("safe-thick", "the smallest safe thickness"),
		},
		Snipe:        r.length("snipe", "what is spoilt at each end"),
		SetupMinutes: r.setup(), EachSeconds: r.each(),
	}
}

// wrong keeps a problem and what to do, unless an earlier one is kept already.
func (r *blockReader) wrong(code, do, say string, args ...any) {
	if r.problem == nil {
		r.problem = parts.Problemf(parts.Invalid, code, "%s "+say, append([]any{short(r.Value("name"))}, args...)...).Next(do)
	}
}

func (r *blockReader) text(name string) string { return written(r.Value(name)) }

// faces reads ticked faces in the order of parts.Faces. One that is not known
// comes last: the check of the steps refuses it by name.
func (r *blockReader) faces(name string) []parts.Face {
	var out []parts.Face
	for _, f := range parts.Faces {
		if r.Has(name, string(f)) {
			out = append(out, f)
		}
	}
	for _, v := range r.form[r.Field(name)] {
		if f := parts.Face(v); !slices.Contains(parts.Faces, f) {
			return append(out, f)
		}
	}
	return out
}

// length reads a size; none, and zero, say that it does not matter.
func (r *blockReader) length(name, what string) parts.Length {
	text := strings.TrimSpace(r.Value(name))
	if text == "" {
		return 0
	}
	l, err := parts.ParseLength(text, parts.Writing{Unit: r.unit})
	if p := parts.AsProblem(err); p != nil && p.Code != "length-zero" && r.problem == nil {
		args := append(parts.Args{short(r.Value("name")), what}, p.Args...)
		r.problem = &parts.Problem{Sort: p.Sort, Code: p.Code, Say: "%s, %s: " + p.Say, Args: args, Do: p.Do, DoArgs: p.DoArgs}
	}
	return l
}

// wait reads how long a wait takes; every wait must say it.
func (r *blockReader) wait(name string) int {
	if strings.TrimSpace(r.Value(name)) == "" {
		r.wrong("step-hours", "Write hours, such as 24 or 0.5.", "waits, and does not say how long.")
	}
	return r.minutes(name)
}

// minutes reads a time in hours, or with its unit; nothing is zero.
func (r *blockReader) minutes(name string) int {
	text := strings.TrimSpace(r.Value(name))
	if text == "" {
		return 0
	}
	m, ok := readMinutes(text)
	if !ok {
		r.wrong("step-hours", "Write hours, such as 24 or 0.5, or minutes with their unit, such as 50 min.", "has a time “%s” that cannot be read.", short(text))
	}
	return m
}

func (r *blockReader) setup() int {
	text := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(r.Value("setup")), "min"))
	if text == "" {
		return 0
	}
	m, ok := amount(text)
	if !ok || m != math.Trunc(m) {
		r.wrong("step-setup", "Write whole minutes, such as 15.", "takes “%s” minutes to set the machine.", short(text))
	}
	return int(m)
}

func (r *blockReader) each() int {
	text := strings.TrimSpace(r.Value("each"))
	if text == "" {
		return 0
	}
	n, ok := amount(text)
	if !ok {
		r.wrong("step-each", "Write a number, such as 45 seconds or 1.5 minutes.", "takes “%s” for each piece.", short(text))
	}
	if r.Value("each-in") == "minutes" {
		n *= 60
	}
	return int(math.Round(n))
}

// written is a text without the characters that a line of text cannot have.
func written(s string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD")))
}

// short keeps what was typed from filling the sentence it is shown in.
func short(s string) string {
	r := []rune(written(s))
	if len(r) > 60 {
		return string(r[:60]) + "…"
	}
	return string(r)
}
