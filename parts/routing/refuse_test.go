package routing_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/routing"
)

// The windows here are invented: what a product's window is, and what follows
// when it is missed, is for its data sheet to say.
const (
	windowed       int64 = 41
	wnSand, wnCoat       = 2, 3
)

var windowedSteps = parts.Routing{ID: windowed, Name: "Board with a window", For: parts.Single, Steps: []parts.Step{
	{Name: "topcoat, first coat", Station: "topcoat", Record: true, Coat: "topcoat", Coats: parts.Faces},
	{Name: "dry", Clock: parts.Drying, Minutes: 4 * 60, Latest: 24 * 60, Missed: "sand to 320 and wipe"},
	{Name: "sand between coats", Station: "sand", Scuff: true},
	{Name: "topcoat, second coat", Station: "topcoat", Record: true, Coat: "topcoat", Coats: parts.Faces},
}}

// coatedAt is a board that got its first coat at a time, and nothing since.
func coatedAt(t *testing.T, at time.Time, r parts.Routing) (parts.View, parts.State) {
	s := piece(boards, 1, 0, func(s *parts.State) { s.Steps, s.LastAt = windowed, at })
	v := view(s)
	v.Routings[windowed] = r
	events, err := routing.Advance(v, parts.Scan{Station: "topcoat", At: at})
	require.NoError(t, err)
	v.Subject = parts.Apply(s, events[0])
	return v, v.Subject
}

func TestTheNextCoatHasAWindow(t *testing.T) {
	coat := parts.Scan{Step: wnCoat + 1}
	tests := []struct {
		name  string
		after time.Duration // since the first coat
		scan  parts.Scan
		code  string
	}{
		{"a minute too early", 4*time.Hour - time.Minute, coat, "waiting"},
		{"on the first minute", 4 * time.Hour, coat, ""},
		{"in between", 12 * time.Hour, coat, ""},
		{"on the last moment", 24 * time.Hour, coat, ""},
		{"a millisecond after it", 24*time.Hour + time.Millisecond, coat, "window-missed"},
		{"a week after it", 7 * 24 * time.Hour, coat, "window-missed"},
		{"after it, and a person says the data sheet was followed", 25 * time.Hour, parts.Scan{Step: wnCoat + 1, Override: true, Reason: "sanded and wiped"}, ""},
		{"sanding has no window", 25 * time.Hour, parts.Scan{Step: wnSand + 1}, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			v, s := coatedAt(t, noon, windowedSteps)
			assert.Equal(t, noon.Add(24*time.Hour), s.Waits[0].Latest)
			tt.scan.At = noon.Add(tt.after)
			events, err := routing.Advance(v, tt.scan)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code == "" && tt.scan.Override {
				assert.Equal(t, "sanded and wiped", events[0].Detail.Override)
			}
		})
	}
	v, _ := coatedAt(t, noon, windowedSteps)
	late := noon.Add(30 * time.Hour)
	_, err := routing.Advance(v, parts.Scan{Step: wnCoat + 1, At: late})
	assert.ErrorContains(t, err, "The data sheet says: sand to 320 and wipe. Do that, and say so.")
	assert.Equal(t, noon.Add(24*time.Hour), parts.AsProblem(err).Facts["latest"])

	events, err := routing.Advance(v, parts.Scan{Step: wnSand + 1, At: late})
	require.NoError(t, err)
	v.Subject = parts.Apply(v.Subject, events[0])
	_, err = routing.Advance(v, parts.Scan{Step: wnCoat + 1, At: late})
	assert.NoError(t, err, "what the data sheet asks for is recorded: the coat may come")
}

func TestAWindowOfWhichNothingIsSaid(t *testing.T) {
	without := windowedSteps
	without.Steps = append([]parts.Step(nil), windowedSteps.Steps...)
	without.Steps[1].Missed = ""
	v, _ := coatedAt(t, noon, without)
	_, err := routing.Advance(v, parts.Scan{Step: wnCoat + 1, At: noon.Add(25 * time.Hour)})
	assert.ErrorContains(t, err, "Look at the product's data sheet for what to do, do it, and say so.")

	without.Steps[1].Latest = 0
	v, s := coatedAt(t, noon, without)
	assert.True(t, s.Waits[0].Latest.IsZero())
	_, err = routing.Advance(v, parts.Scan{Step: wnCoat + 1, At: noon.AddDate(1, 0, 0)})
	assert.NoError(t, err, "a product without a window has time")
}

// A repair may end with a coat and its wait: what its window says is found
// among the steps of the repair, also when that is done.
func TestTheWindowOfARepeatedCoat(t *testing.T) {
	repair := []parts.Step{{Name: "sand back", Station: "sand", Scuff: true}, {Name: "stain again", Station: "stain", Record: true, Coat: "stain", Coats: parts.Faces},
		{Name: "dry", Clock: parts.Drying, Minutes: 60, Latest: 120, Missed: "wipe with the thinner of the can"}}
	s := piece(boards, 1, 5, func(s *parts.State) { s.Repair, s.Mend = repair, 1 })
	v := view(s)
	events, err := routing.Advance(v, parts.Scan{Station: "stain", At: noon})
	require.NoError(t, err)
	v.Subject = parts.Apply(s, events[0])
	require.False(t, v.Subject.Mending(), "nothing but its wait is left")
	_, err = routing.Advance(v, parts.Scan{Station: "topcoat", At: noon.Add(time.Hour - time.Second)})
	assert.Equal(t, "waiting", parts.CodeOf(err))
	_, err = routing.Advance(v, parts.Scan{Station: "topcoat", At: noon.Add(2 * time.Hour)})
	assert.NoError(t, err)
	_, err = routing.Advance(v, parts.Scan{Station: "topcoat", At: noon.Add(2*time.Hour + time.Second)})
	assert.ErrorContains(t, err, "The data sheet says: wipe with the thinner of the can.")
}

// A piece in doubt may be sawn and sanded: that can still be put right. A coat
// or a glue-up waits until somebody has looked.
func TestAPieceInDoubt(t *testing.T) {
	tests := []struct {
		name  string
		state parts.State
		scan  parts.Scan
		code  string
		over  string
	}{
		{"at the drill", piece(boards, 1, 1, inDoubt), parts.Scan{Station: "bore"}, "", ""},
		{"before a coat", piece(boards, 1, 2, inDoubt), parts.Scan{Station: "stain"}, "to-be-looked-at", ""},
		{"before a coat, and looked at", piece(boards, 1, 2), parts.Scan{Station: "stain"}, "", ""},
		{"before a coat, and a person says it is good", piece(boards, 1, 2, inDoubt), parts.Scan{Station: "stain", Override: true, Reason: "measured"}, "", "measured"},
		{"before its dry fit", piece(frames, 1, frDryFit, inDoubt), parts.Scan{Station: "glue"}, "to-be-looked-at", ""},
		{"wet comes before doubtful", piece(boards, 1, 2, inDoubt, waits(parts.Drying, 3, noon.Add(time.Minute))), parts.Scan{Station: "stain"}, "waiting", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.scan.At = noon
			events, err := routing.Advance(view(tt.state, done(rails, 1), done(rails, 2), done(stiles, 1), done(stiles, 2)), tt.scan)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code == "" {
				assert.Equal(t, tt.over, events[0].Detail.Override)
			}
		})
	}
	ticket := parts.State{Part: "105L", Seq: 1, Kind: parts.Ticket, Line: boards}
	events, err := routing.Advance(view(ticket, piece(boards, 1, 2), piece(boards, 2, 2, inDoubt)), parts.Scan{Station: "stain", At: noon})
	require.NoError(t, err)
	assert.Equal(t, []parts.ID{"F1"}, marks(events), "of a ticket the one in doubt stays behind")
	_, err = routing.Advance(view(ticket, piece(boards, 1, 2), piece(boards, 2, 2, inDoubt)), parts.Scan{Station: "stain", At: noon, Count: 2})
	assert.Equal(t, "count", parts.CodeOf(err))
}
