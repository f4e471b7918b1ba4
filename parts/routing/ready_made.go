package routing

import (
	"regexp"
	"strings"

	"benchtally/parts"
)

// Stations are the places every shop starts with, in the order of the floor.
// The cautions say what is usual; local rules and the machine's own manual
// decide.
func Stations() []parts.StationRow {
	return []parts.StationRow{
		{Key: "crosscut", Name: "at the crosscut saw", Place: 1, Caution: "Cutter stopped before you pick up the phone. Hands clear of the line of cut, eye and ear protection on."},
		{Key: "rip", Name: "at the rip saw", Place: 2, Caution: "Cutter stopped before you pick up the phone. Riving knife and push stick in use; stand out of the line of kickback."},
		{Key: "joint", Name: "at the jointer", Place: 3, Caution: "Cutter stopped before you pick up the phone. Guard in place; push blocks for short or thin stock."},
		{Key: "plane", Name: "at the planer", Place: 4, Caution: "Cutter stopped before you pick up the phone. Nothing shorter than the machine allows; dust extraction and ear protection on."},
		{Key: "bore", Name: "at the drill", Place: 5, Caution: "Spindle stopped before you pick up the phone. No gloves at a turning bit; clamp the work."},
		{Key: "glue", Name: "at the glue bench", Place: 6, Caution: "Glue on the skin: wash it off. The product's data sheet says what it needs."},
		{Key: "sand", Name: "at the sanding bench", Place: 7, Caution: "Wood dust harms: extraction and a fitting mask. Empty the bag away from sparks."},
		{Key: "stain", Name: "at the staining bench", Place: 8, Caution: "Air the room, gloves on. Oily rags can catch fire by themselves: spread them flat to dry outdoors or keep them under water in a closed metal can."},
		{Key: "topcoat", Name: "in the booth", Place: 9, Caution: "No phone in the booth while solvent finish is sprayed: scan outside. Fan on, respirator as the product's data sheet says, no sparks."},
		{Key: "wrap", Name: "at the packing bench", Place: 10, Caution: "Lift heavy or long pieces with a second person."},
	}
}

// The keys of the ready-made steps.
const (
	FramePart  = "frame-part"
	Frame      = "frame"
	Panel      = "panel"
	LoosePart  = "loose-part"
	FramePanel = "frame-panel"
)

// Waits of the ready-made steps in minutes: common practice, no source, save
// that glue in clamps for about an hour and no stress before 24 h are what
// makers of wood glue commonly print. A shop overwrites them from the data
// sheets of what it uses.
const (
	restMinutes    = 24 * 60
	clampMinutes   = 60
	setMinutes     = 23 * 60
	stainMinutes   = 12 * 60
	topcoatMinutes = 4 * 60
	cureMinutes    = 24 * 60
)

// ReadyMade are the steps a shop starts with, in the true order of the trade.
func ReadyMade() []parts.Routing {
	return []parts.Routing{
		{Key: FramePart, Version: 1, Name: "Solid-wood frame part", For: parts.Single, Steps: append(milling(),
			parts.Step{Name: "bore", Station: "bore", Bores: true, Sets: parts.ToPattern})},
		{Key: Frame, Version: 1, Name: "Frame", For: parts.Assembly, Steps: append([]parts.Step{
			{Name: "dry fit", Station: "glue", Record: true, Binds: true},
			{Name: "glue up, clamps on", Station: "glue", Record: true, Glues: true},
			{Name: "in clamps", Clock: parts.Clamps, Minutes: clampMinutes},
			{Name: "set", Clock: parts.Setting, Minutes: setMinutes},
		}, finishing()...)},
		{Key: Panel, Version: 1, Name: "Sheet-goods panel", For: parts.Single, Steps: append([]parts.Step{
			{Name: "rip to width", Station: "rip", Sets: parts.ToWidth},
			{Name: "cut to length", Station: "crosscut", Sets: parts.ToLength},
		}, finishing()...)},
		{Key: LoosePart, Version: 1, Name: "Loose solid part", For: parts.Single, Steps: append(milling(), finishing()...)},
		{Key: FramePanel, Version: 1, Name: "Sheet-goods panel for a frame", For: parts.Single, Steps: []parts.Step{
			{Name: "rip to width", Station: "rip", Sets: parts.ToWidth},
			{Name: "cut to length", Station: "crosscut", Sets: parts.ToLength},
		}},
	}
}

// milling takes a rough board to a part cut to length. Wood moves when it is
// opened up, so it rests before a face is made true.
func milling() []parts.Step {
	return []parts.Step{
		{Name: "rough length", Station: "crosscut"},
		{Name: "rough width", Station: "rip"},
		{Name: "rest", Clock: parts.Resting, Minutes: restMinutes},
		{Name: "joint a face and an edge", Station: "joint"},
		{Name: "rip to width", Station: "rip", Sets: parts.ToWidth},
		{Name: "plane", Station: "plane", Sets: parts.ToThickness},
		{Name: "cut to length", Station: "crosscut", Sets: parts.ToLength},
	}
}

// finishing takes bare wood to a wrapped piece.
func finishing() []parts.Step {
	return []parts.Step{
		{Name: "sand", Station: "sand"},
		{Name: "stain, first coat", Station: "stain", Record: true},
		{Name: "dry", Clock: parts.Drying, Minutes: stainMinutes},
		{Name: "stain, second coat", Station: "stain", Record: true},
		{Name: "dry", Clock: parts.Drying, Minutes: stainMinutes},
		{Name: "topcoat, first coat", Station: "topcoat", Record: true},
		{Name: "dry", Clock: parts.Drying, Minutes: topcoatMinutes},
		{Name: "topcoat, second coat", Station: "topcoat", Record: true},
		{Name: "dry", Clock: parts.Drying, Minutes: cureMinutes},
		{Name: "wrap", Station: "wrap"},
	}
}

// sheetWords tell sheet goods from solid wood in a material's name. A supply
// shelf is no plywood, so the short ones must begin a word.
var sheetWords = regexp.MustCompile(`\b(ply|osb|sheet)|plywood|mdf|particle|chipboard|melamine|hardboard|sperrholz|spanplatte|multiplex|tischler|veneer|furnier`)

// Guess proposes the steps of a cut list line by its material and by whether
// it goes into an assembly. A person may choose others before it is confirmed.
func Guess(material, name string, inAssembly bool) string {
	sheet := sheetWords.MatchString(strings.ToLower(material + " " + name))
	switch {
	case sheet && inAssembly:
		return FramePanel
	case sheet:
		return Panel
	case inAssembly:
		return FramePart
	}
	return LoosePart
}
