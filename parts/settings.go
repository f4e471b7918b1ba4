package parts

import (
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode/utf8"
)

// Settings are what the shop says once and printing needs too.
type Settings struct {
	Shop        string // its name, for the head of pages
	Zone        string // IANA name of its time zone
	Unit        Unit   // in which sizes are printed: "in" or "mm"
	Denominator int    // of printed fractions of an inch
	Address     string // of this server as phones reach it: "http://192.168.1.20:8080"
	Guessed     bool   // Address was filled in at the first start, and nobody has chosen it yet
	Paper       string // "letter" or "a4"
	Sheet       string // key of the label sheet in use
	Batches     bool   // no coat is recorded without its batch, where its mix is known
}

// CodeAddress is Address as codes hold it. The host is in capitals, which
// means the same to every reader of addresses (RFC 3986, 3.2.2) and which a
// code takes in fewer squares (ISO/IEC 18004, alphanumeric mode).
func (s Settings) CodeAddress() string {
	scheme, rest, ok := strings.Cut(s.Address, "://")
	if !ok {
		return s.Address
	}
	return scheme + "://" + strings.ToUpper(rest)
}

// Style is how the shop writes lengths.
func (s Settings) Style() Style { return Style{Unit: s.Unit, Denominator: s.Denominator} }

// zones keeps the time zones that were read: reading one opens a file, and
// every page writes times.
var zones sync.Map // of *time.Location by name

// Location is the shop's time zone, UTC when its name is unknown.
func (s Settings) Location() *time.Location {
	if zone, known := zones.Load(s.Zone); known {
		return zone.(*time.Location)
	}
	zone, err := time.LoadLocation(s.Zone)
	if err != nil {
		return time.UTC
	}
	zones.Store(s.Zone, zone)
	return zone
}

// Check says what is wrong with settings that a person wrote.
func (s Settings) Check() error {
	invalid := func(code, say string, args ...any) *Problem { return Problemf(Invalid, code, say, args...) }
	address, err := url.Parse(s.Address)
	switch {
	case strings.TrimSpace(s.Shop) == "" || utf8.RuneCountInString(s.Shop) > 60:
		return invalid("shop-name", "The shop needs a name of at most 60 characters.").Next("Write the name people know it by.")
	case s.Unit != "in" && s.Unit != "mm":
		return invalid("unit", "Sizes are printed in inches or in millimetres, not in %q.", string(s.Unit)).Next("Choose one of the two.")
	case !slices.Contains([]int{2, 4, 8, 16, 32, 64, 128}, s.Denominator):
		return invalid("denominator", "Fractions of an inch to 1/%d are on no rule.", s.Denominator).Next("Choose 16, 32 or 64.")
	case s.Paper != "letter" && s.Paper != "a4":
		return invalid("paper", "The paper %q is not known.", s.Paper).Next("Choose Letter or A4.")
	case err != nil || (address.Scheme != "http" && address.Scheme != "https") || address.Host == "" ||
		strings.Trim(address.Path, "/") != "" || address.RawQuery != "" || address.Fragment != "" || address.User != nil:
		return invalid("address", "%q is not an address that a phone could open.", s.Address).Next("Write it like http://192.168.1.20:8080.")
	}
	if _, err := time.LoadLocation(s.Zone); err != nil || s.Zone == "" {
		return invalid("zone", "The time zone %q is not known.", s.Zone).Next("Write it like America/New_York or Europe/Berlin.")
	}
	return nil
}
