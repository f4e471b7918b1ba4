package routing_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/routing"
)

// glued is a frame that was glued up at noon: an hour in clamps, 23 more until
// it may be sanded. These are the times of the ready-made steps.
func glued(also ...func(*parts.State)) parts.State {
	s := piece(frames, 1, frSand, waits(parts.Clamps, 2, noon.Add(time.Hour)), waits(parts.Setting, 3, noon.Add(24*time.Hour)))
	s.LastAt = noon
	for _, change := range also {
		change(&s)
	}
	return s
}

func TestClampsOff(t *testing.T) {
	mended := func(s *parts.State) {
		s.Repair = []parts.Step{{Name: "glue", Station: "glue"}, {Name: "in clamps", Clock: parts.Clamps, Minutes: 60}, {Name: "sand", Station: "sand"}}
		s.Mend, s.Waits = 2, []parts.Wait{{Clock: parts.Clamps, Step: 1, Mends: true, From: noon, Until: noon.Add(time.Hour)}}
	}
	for _, tt := range []struct {
		name     string
		s        parts.State
		after    time.Duration // glue-up to clamps off
		override bool
		code     string
		how      parts.PastHow // of the wait, afterwards
	}{
		{name: "a minute early", s: glued(), after: 59 * time.Minute, code: "waiting"},
		{name: "a minute early, the joint was checked", s: glued(), after: 59 * time.Minute, override: true, how: parts.WasFilled},
		{name: "in time", s: glued(), after: time.Hour, how: parts.WasDone},
		{name: "in time, overruled for nothing", s: glued(), after: time.Hour, override: true, how: parts.WasDone},
		{name: "a day later", s: glued(), after: 25 * time.Hour, how: parts.WasDone},
		{name: "of a repair", s: glued(mended), after: time.Hour},
		{name: "of a repair, early", s: glued(mended), after: time.Minute, code: "waiting"},
		{name: "while a plug has to be bored again", s: glued(plugged(1)), after: time.Hour, how: parts.WasDone},
		{name: "from before the glue-up", s: glued(), after: -time.Hour, code: "late"},
		{name: "held", s: glued(held), after: time.Hour, code: "held"},
		{name: "scrapped", s: glued(scrapped), after: time.Hour, code: "scrapped"},
		{name: "in another assembly", s: glued(inAssembly), after: time.Hour, code: "in-assembly"},
		{name: "once more", s: piece(frames, 1, frSand), code: "not-in-clamps"},
		{name: "never glued", s: piece(frames, 1, frDryFit), code: "not-in-clamps"},
		{name: "a ticket", s: parts.State{Part: "101S", Kind: parts.Ticket, Line: rails}, code: "one-by-one"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			scan := parts.Scan{At: noon.Add(tt.after), By: 7, Override: tt.override, Reason: "Joint checked, clamps may come off"}
			events, err := routing.ClampsOff(view(tt.s), scan)
			assert.Equal(t, tt.code, parts.CodeOf(err))
			if tt.code != "" {
				return
			}
			require.Len(t, events, 1)
			early := tt.how == parts.WasFilled
			assert.Equal(t, early, events[0].Detail.Override != "", "an override is noted where it was needed")
			after := parts.Apply(tt.s, events[0])
			assert.Equal(t, tt.s.Next, after.Next)
			assert.Equal(t, tt.s.Mend, after.Mend, "a repair is not passed over")
			assert.Equal(t, tt.s.Finished, after.Finished)
			assert.Equal(t, tt.s.Waits[1:], after.Waits[:len(tt.s.Waits)-1], "the rest goes on")
			_, clamped := routing.InClamps(after)
			assert.False(t, clamped)
			if tt.how != "" {
				assert.Equal(t, tt.how, after.Past[2].How)
				assert.Equal(t, parts.WasDone, after.Past[3].How, "what goes on setting is not marked as cut short")
			}
			assert.Len(t, after.Past, len(tt.s.Past))
		})
	}
}

func TestClampsOffSaysHowLongAndWhy(t *testing.T) {
	_, err := routing.ClampsOff(view(glued()), parts.Scan{At: noon.Add(20 * time.Minute)})
	p := parts.AsProblem(err)
	assert.Equal(t, noon.Add(time.Hour), p.Facts["ready_at"], "of the clamps, and not of the joint")
	assert.Equal(t, "Joint checked, clamps may come off", p.Facts["overrule"])
	for sort, next := range map[parts.Sort]int{parts.Already: frSand, parts.Refused: frGlue} {
		_, err := routing.ClampsOff(view(piece(frames, 1, next)), parts.Scan{At: noon})
		assert.Equal(t, sort, parts.AsProblem(err).Sort)
	}
}

// With or without clamps off, the next step is refused until the joint has set
// and recorded from then on; it finds out by itself what was cut short.
func TestNothingNeedsClampsOff(t *testing.T) {
	said := glued()
	events, err := routing.ClampsOff(view(said), parts.Scan{At: noon.Add(time.Hour)})
	require.NoError(t, err)
	for _, s := range []parts.State{glued(), parts.Apply(said, events[0])} {
		_, err := routing.Advance(view(s), parts.Scan{Station: "sand", At: noon.Add(24*time.Hour - time.Minute)})
		assert.Equal(t, "waiting", parts.CodeOf(err))
		early, err := routing.Advance(view(s), parts.Scan{Station: "sand", At: noon.Add(23 * time.Hour), Override: true})
		require.NoError(t, err)
		after := parts.Apply(s, early[0])
		assert.Equal(t, []parts.PastHow{parts.WasDone, parts.WasFilled}, []parts.PastHow{after.Past[2].How, after.Past[3].How})
		events, err := routing.Advance(view(s), parts.Scan{Station: "sand", At: noon.Add(24 * time.Hour)})
		require.NoError(t, err)
		after = parts.Apply(s, events[0])
		assert.Equal(t, frSand+1, after.Next)
		for i := range frSand {
			assert.Equal(t, parts.WasDone, after.Past[i].How, "step %d", i)
		}
	}
}
