package parts

// Kind says what a mark stands for. Parts, assemblies and tickets are moved
// by the same rules.
type Kind string

// The kinds of thing that carry a mark.
const (
	Single   Kind = "part"     // one physical piece of wood
	Assembly Kind = "assembly" // parts dry-fitted and then glued or screwed together
	Ticket   Kind = "ticket"   // a slip that stands for a counted group of equal parts
)

// Station is the key of a place where steps happen: "rip", "glue". Stations
// are rows of the shop; no rule knows one by name.
type Station string

// StationRow is what the shop says about a station.
type StationRow struct {
	Key     Station
	Name    string // as people say it: "at the saw"
	Caution string // what can hurt there, in one or two sentences
	Place   int    // its place in the order of the floor
}

// Line is one row of a cut list, or the assembly that several rows go into.
// Its parts are alike until dry fit.
type Line struct {
	ID       int64
	Job      int64
	Number   int // its place in the list, from 1
	Kind     Kind
	Name     string
	Quantity int
	Spares   int
	Length   Size
	Width    Size
	Thick    Size
	Material string
	Notes    string
	Into     int64 // the line of the assembly it goes into; 0 for none
	Each     int   // how many of it one such assembly takes
	Steps    int64 // the version of the steps its parts started with
	Ticket   ID    // the ticket that stands for its parts; "" for an assembly
}

// Job is one order for one client.
type Job struct {
	ID   int64
	Code string // short, for addresses and commands: "TERN-POINT"
	Name string
}
