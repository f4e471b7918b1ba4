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
	FramePart   = "frame-part"
	DowelPart   = "dowel-part"
	Frame       = "frame"
	ScrewedUnit = "screwed"
	Panel       = "panel"
	LoosePart   = "loose-part"
	FramePanel  = "frame-panel"
	Bought      = "bought"
)

// Waits of the ready-made steps in minutes: common practice, no source, save
// that glue in clamps for about an hour and no stress before 24 h are what
// makers of wood glue commonly print. A shop overwrites them from the data
// sheets of what it uses.
const (
	restMinutes    = 24 * 60
	clampMinutes   = 60
	setMinutes     = 23 * 60
	dowelMinutes   = 60
	stainMinutes   = 12 * 60
	topcoatMinutes = 4 * 60
	cureMinutes    = 24 * 60
)

// The ready-made products that the ready-made steps wait for, and what may be
// done afterwards, in the words of parts/drying. Their times agree with the
// minutes above, in the air that the data sheets take for granted.
const (
	woodGlue  = "pva-glue"
	woodStain = "oil-stain"
	clearCoat = "water-clear"
	clampsOff = "take the clamps off"
	machine   = "machine it"
	recoat    = "coat it again"
	wrapIt    = "wrap it"
)

// The smallest pieces that are safe and what a planer spoils at each end:
// common practice, no source. The machine's own manual decides, and a shop
// overwrites them from it.
const (
	shortestAtRollers = 12 * parts.Inch
	narrowestAtCutter = 3 * parts.Inch / 4
	thinnestAtCutter  = parts.Inch / 4
	shortestAtFence   = 12 * parts.Inch
	shortestAtStop    = 4 * parts.Inch
	planerSnipe       = 3 * parts.Inch
)

var allFaces = parts.Faces

// ReadyMade are the steps a shop starts with, in the true order of the trade.
func ReadyMade() []parts.Routing {
	return []parts.Routing{
		{Key: FramePart, Version: 1, Name: "Solid-wood frame part", For: parts.Single, Steps: append(milling(), bore())},
		{Key: Frame, Version: 1, Name: "Frame", For: parts.Assembly, Steps: append(gluing(), finishing()...)},
		{Key: Panel, Version: 1, Name: "Sheet-goods panel", For: parts.Single, Steps: append(sheetCuts(), finishing()...)},
		{Key: LoosePart, Version: 1, Name: "Loose solid part", For: parts.Single, Steps: append(milling(), finishing()...)},
		{Key: FramePanel, Version: 1, Name: "Sheet-goods panel for a frame", For: parts.Single, Steps: sheetCuts()},
		{Key: DowelPart, Version: 1, Name: "Solid-wood frame part with dowels glued in", For: parts.Single, Steps: append(milling(), bore(),
			parts.Step{Name: "glue dowels in", Station: "glue", Record: true, Joins: []parts.Face{parts.Edges, parts.Ends},
				Bears: []parts.Face{parts.BackFace, parts.Edges}, EachSeconds: 90},
			parts.Step{Name: "dowels set", Clock: parts.Setting, Minutes: dowelMinutes, Product: woodGlue, Need: clampsOff})},
		{Key: ScrewedUnit, Version: 1, Name: "Screwed or bolted unit", For: parts.Assembly, Steps: append([]parts.Step{
			{Name: "screw together", Station: "glue", Record: true, Binds: true, Bears: []parts.Face{parts.BackFace}, EachSeconds: 300},
		}, finishing()...)},
		{Key: Bought, Version: 1, Name: "Bought part", For: parts.Single, Steps: []parts.Step{
			{Name: "looked over on arrival", Station: "wrap", Record: true, EachSeconds: 30},
		}},
	}
}

// milling takes a rough board to a part cut to length. Wood moves when it is
// opened up, so it rests before a face is made true. Until it is cut to length
// several parts may be one blank.
func milling() []parts.Step {
	broad := []parts.Face{parts.ShowFace, parts.BackFace}
	return []parts.Step{
		{Name: "rough length", Station: "crosscut", Cuts: []parts.Face{parts.Ends}, Bears: []parts.Face{parts.BackFace, parts.Edges},
			SetupMinutes: 2, EachSeconds: 30},
		{Name: "rough width", Station: "rip", Cuts: []parts.Face{parts.Edges}, Bears: []parts.Face{parts.BackFace, parts.Edges},
			Safe: parts.Smallest{Length: shortestAtFence}, SetupMinutes: 3, EachSeconds: 30},
		{Name: "rest", Clock: parts.Resting, Minutes: restMinutes},
		{Name: "joint a face and an edge", Station: "joint", Cuts: []parts.Face{parts.BackFace, parts.Edges}, Bears: []parts.Face{parts.BackFace, parts.Edges},
			Safe: parts.Smallest{Length: shortestAtRollers, Width: narrowestAtCutter, Thick: thinnestAtCutter}, SetupMinutes: 5, EachSeconds: 60},
		{Name: "rip to width", Station: "rip", Sets: parts.ToWidth, Makes: parts.ToWidth, Check: "width of the first piece, with the caliper",
			Cuts: []parts.Face{parts.Edges}, Bears: []parts.Face{parts.BackFace, parts.Edges},
			Safe: parts.Smallest{Length: shortestAtFence}, SetupMinutes: 5, EachSeconds: 30},
		{Name: "plane", Station: "plane", Sets: parts.ToThickness, Makes: parts.ToThickness, Cuts: broad, Bears: broad,
			Safe: parts.Smallest{Length: shortestAtRollers, Thick: thinnestAtCutter}, Snipe: planerSnipe, SetupMinutes: 3, EachSeconds: 40},
		{Name: "cut to length", Station: "crosscut", Sets: parts.ToLength, Makes: parts.ToLength, Parts: true,
			Check: "length of the first piece, with the rule", Cuts: []parts.Face{parts.Ends}, Bears: []parts.Face{parts.BackFace, parts.Edges},
			Safe: parts.Smallest{Length: shortestAtStop}, SetupMinutes: 5, EachSeconds: 20},
	}
}

// bore makes the holes of a part for its frame.
func bore() parts.Step {
	return parts.Step{Name: "bore", Station: "bore", Bores: true, Sets: parts.ToPattern, Check: "holes of the first piece, against its mate",
		Cuts: []parts.Face{parts.Edges, parts.Ends}, Bears: []parts.Face{parts.BackFace, parts.Edges}, SetupMinutes: 10, EachSeconds: 60}
}

// gluing puts a frame together. The glue-up says by itself that the dry fit
// was done: with wet hands one tap is enough.
func gluing() []parts.Step {
	return []parts.Step{
		{Name: "dry fit", Station: "glue", Binds: true, Bears: []parts.Face{parts.BackFace, parts.Edges}, EachSeconds: 300},
		{Name: "glue up, clamps on", Station: "glue", Record: true, Glues: true, Joins: []parts.Face{parts.Edges, parts.Ends},
			Bears: []parts.Face{parts.BackFace, parts.Edges}, SetupMinutes: 10, EachSeconds: 600},
		{Name: "in clamps", Clock: parts.Clamps, Minutes: clampMinutes, Product: woodGlue, Need: clampsOff},
		{Name: "set", Clock: parts.Setting, Minutes: setMinutes, Product: woodGlue, Need: machine},
	}
}

// sheetCuts are the cuts of a part from sheet goods.
func sheetCuts() []parts.Step {
	return []parts.Step{
		{Name: "rip to width", Station: "rip", Sets: parts.ToWidth, Makes: parts.ToWidth, Cuts: []parts.Face{parts.Edges},
			Bears: []parts.Face{parts.BackFace, parts.Edges}, Safe: parts.Smallest{Length: shortestAtFence}, SetupMinutes: 5, EachSeconds: 60},
		{Name: "cut to length", Station: "crosscut", Sets: parts.ToLength, Makes: parts.ToLength, Cuts: []parts.Face{parts.Ends},
			Bears: []parts.Face{parts.BackFace, parts.Edges}, Safe: parts.Smallest{Length: shortestAtStop}, SetupMinutes: 5, EachSeconds: 45},
	}
}

// finishing takes bare wood to a wrapped piece.
func finishing() []parts.Step {
	coat := func(name, station string, seconds int) parts.Step {
		return parts.Step{Name: name, Station: parts.Station(station), Record: true, Coat: station, Coats: allFaces, SetupMinutes: 10, EachSeconds: seconds}
	}
	return []parts.Step{
		{Name: "sand", Station: "sand", Cuts: allFaces, Bears: []parts.Face{parts.BackFace}, Scuff: true, SetupMinutes: 2, EachSeconds: 480},
		coat("stain, first coat", "stain", 240),
		{Name: "dry", Clock: parts.Drying, Minutes: stainMinutes, Product: woodStain, Need: recoat},
		coat("stain, second coat", "stain", 240),
		{Name: "dry", Clock: parts.Drying, Minutes: stainMinutes, Product: woodStain, Need: recoat},
		coat("topcoat, first coat", "topcoat", 180),
		{Name: "dry", Clock: parts.Drying, Minutes: topcoatMinutes, Product: clearCoat, Need: recoat},
		coat("topcoat, second coat", "topcoat", 180),
		{Name: "dry", Clock: parts.Drying, Minutes: cureMinutes, Product: clearCoat, Need: wrapIt},
		{Name: "wrap", Station: "wrap", EachSeconds: 120},
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
