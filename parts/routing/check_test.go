package routing_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"benchtally/parts"
	"benchtally/parts/routing"
)

func TestCheckSteps(t *testing.T) {
	saw := parts.Step{Name: "cut to length", Station: "crosscut"}
	fit := parts.Step{Name: "dry fit", Station: "glue", Binds: true}
	dry := parts.Step{Name: "dry", Clock: parts.Drying, Minutes: 60}
	change := func(s parts.Step, f func(*parts.Step)) parts.Step { f(&s); return s }
	list := func(kind parts.Kind, steps ...parts.Step) parts.Routing {
		return parts.Routing{Name: "Shop steps", For: kind, Steps: steps}
	}
	tests := []struct {
		name string
		r    parts.Routing
		code string
	}{
		{"one step", list(parts.Single, saw), ""},
		{"a step and a wait", list(parts.Single, saw, dry), ""},
		{"an assembly with one dry fit", list(parts.Assembly, fit, saw), ""},
		{"forty steps", list(parts.Single, repeat(saw, 40)...), ""},
		{"forty-one steps", list(parts.Single, repeat(saw, 41)...), "steps-many"},
		{"no step", list(parts.Single), "steps-empty"},
		{"nothing but waiting", list(parts.Single, dry, dry), "steps-empty"},
		{"no name", parts.Routing{Name: " ", For: parts.Single, Steps: []parts.Step{saw}}, "steps-name"},
		{"for nothing", list("", saw), "steps-for"},
		{"for a ticket", list(parts.Ticket, saw), "steps-for"},
		{"an assembly without a dry fit", list(parts.Assembly, saw), "steps-dry-fit"},
		{"an assembly with two", list(parts.Assembly, fit, fit), "steps-dry-fit"},
		{"a part with a dry fit", list(parts.Single, saw, fit), "steps-dry-fit"},
		{"a step without a name", list(parts.Single, change(saw, func(s *parts.Step) { s.Name = " " })), "step-name"},
		{"a name of 60 letters with marks on them", list(parts.Single, change(saw, func(s *parts.Step) { s.Name = strings.Repeat("ä", 60) })), ""},
		{"a name of 61 letters", list(parts.Single, change(saw, func(s *parts.Step) { s.Name = strings.Repeat("a", 61) })), "step-name"},
		{"a station the shop does not have", list(parts.Single, change(saw, func(s *parts.Step) { s.Station = "lathe" })), "step-station"},
		{"neither a station nor a kind of wait", list(parts.Single, saw, change(dry, func(s *parts.Step) { s.Clock = "" })), "step-clock"},
		{"a wait of an unknown kind", list(parts.Single, saw, change(dry, func(s *parts.Step) { s.Clock = "cooling" })), "step-clock"},
		{"a wait of no minute", list(parts.Single, saw, change(dry, func(s *parts.Step) { s.Minutes = 0 })), "step-minutes"},
		{"a wait of one minute", list(parts.Single, saw, change(dry, func(s *parts.Step) { s.Minutes = 1 })), ""},
		{"a wait of a year", list(parts.Single, saw, change(dry, func(s *parts.Step) { s.Minutes = 525600 })), ""},
		{"a wait of a year and a minute", list(parts.Single, saw, change(dry, func(s *parts.Step) { s.Minutes = 525601 })), "step-minutes"},
		{"a wait that would have to be recorded", list(parts.Single, saw, change(dry, func(s *parts.Step) { s.Record = true })), "step-wait"},
		{"a wait that would be a dry fit", list(parts.Assembly, saw, change(dry, func(s *parts.Step) { s.Binds = true })), "step-wait"},
		{"a list with a name of 61 letters", parts.Routing{Name: strings.Repeat("a", 61), For: parts.Single, Steps: []parts.Step{saw}}, "steps-name"},
		{"a wait that would bore", list(parts.Single, saw, change(dry, func(s *parts.Step) { s.Bores = true })), "step-wait"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.code, parts.CodeOf(routing.CheckSteps(tt.r, routing.Stations())))
		})
	}
}

func repeat(s parts.Step, n int) []parts.Step {
	var out []parts.Step
	for range n {
		out = append(out, s)
	}
	return out
}

func TestCheckStation(t *testing.T) {
	tests := []struct {
		name    string
		station parts.StationRow
		code    string
	}{
		{"a bandsaw", parts.StationRow{Key: "band", Name: "at the bandsaw"}, ""},
		{"two letters", parts.StationRow{Key: "cn", Name: "at the router"}, ""},
		{"sixteen letters and digits", parts.StationRow{Key: "a123456789012345", Name: "at the router"}, ""},
		{"one letter", parts.StationRow{Key: "c", Name: "at the router"}, "station-key"},
		{"seventeen", parts.StationRow{Key: "a1234567890123456", Name: "at the router"}, "station-key"},
		{"no key", parts.StationRow{Name: "at the router"}, "station-key"},
		{"a digit first", parts.StationRow{Key: "2saw", Name: "at the router"}, "station-key"},
		{"a capital", parts.StationRow{Key: "Saw", Name: "at the saw"}, "station-key"},
		{"a slash would end the address", parts.StationRow{Key: "sa/w", Name: "at the saw"}, "station-key"},
		{"a line end behind it", parts.StationRow{Key: "saw\n", Name: "at the saw"}, "station-key"},
		{"no name", parts.StationRow{Key: "band", Name: "\t"}, "station-name"},
		{"a name of 41 letters", parts.StationRow{Key: "band", Name: strings.Repeat("a", 41)}, "station-name"},
		{"a caution of 301 letters", parts.StationRow{Key: "band", Name: "at the bandsaw", Caution: strings.Repeat("a", 301)}, "station-caution"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.code, parts.CodeOf(routing.CheckStation(tt.station)))
		})
	}
}
