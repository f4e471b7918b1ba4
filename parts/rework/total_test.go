package rework_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/rework"
	"benchtally/parts/routing"
)

// The decisions of this room and of routing are total: whatever rows a damaged
// database holds and whatever a program sends, the answer is what happened or
// what to do, and never a panic that takes the server along.

// deeds is everything that can be asked of a view.
var deeds = map[string]func(parts.View, ask) ([]parts.Event, error){
	"advance": func(v parts.View, a ask) ([]parts.Event, error) { return routing.Advance(v, a.scan) },
	"load":    func(v parts.View, a ask) ([]parts.Event, error) { return routing.Load(v, a.id, a.scan) },
	"check":   func(v parts.View, a ask) ([]parts.Event, error) { return routing.CheckFirst(v, a.scan) },
	"skip":    func(v parts.View, a ask) ([]parts.Event, error) { return routing.Skip(v, a.number, a.reason, a.scan) },
	"reroute": func(v parts.View, a ask) ([]parts.Event, error) {
		return routing.Reroute(v, a.line, a.steps, a.number, 3)
	},
	"plug":   func(v parts.View, a ask) ([]parts.Event, error) { return rework.Plug(v, a.flaw, a.by) },
	"mend":   func(v parts.View, a ask) ([]parts.Event, error) { return rework.Mend(v, a.flaw, a.by) },
	"return": func(v parts.View, a ask) ([]parts.Event, error) { return rework.Return(v, a.flaw, a.by) },
	"hold":   func(v parts.View, a ask) ([]parts.Event, error) { return rework.Hold(v, a.reason, a.by) },
	"release": func(v parts.View, a ask) ([]parts.Event, error) {
		return rework.Release(v, a.by)
	},
	"take apart": func(v parts.View, a ask) ([]parts.Event, error) { return rework.TakeApart(v, a.by) },
	"remake": func(v parts.View, a ask) ([]parts.Event, error) {
		return rework.Remake(v, a.id, fresh("NEW1"), a.reason, a.by)
	},
	"scrap": func(v parts.View, a ask) ([]parts.Event, error) { return rework.Scrap(v, a.reason, a.by) },
	"lost": func(v parts.View, a ask) ([]parts.Event, error) {
		return rework.Lost(v, a.number, a.scan.Count, a.instead, fresh("NEW1"), a.reason, a.by)
	},
	"doubt":   func(v parts.View, a ask) ([]parts.Event, error) { return rework.Doubt(v, a.id, a.by) },
	"clear":   func(v parts.View, a ask) ([]parts.Event, error) { return rework.Clear(v, a.by) },
	"deliver": func(v parts.View, a ask) ([]parts.Event, error) { return rework.Deliver(v, a.by) },
	"take the job back": func(v parts.View, a ask) ([]parts.Event, error) {
		return rework.TakeBackJob(v, a.by)
	},
	"undo": func(v parts.View, a ask) ([]parts.Event, error) {
		return rework.Undo(parts.CommandID{1}, a.done, v.Name, 3, a.reason, noon)
	},
}

func TestEveryDeedIsTotal(t *testing.T) {
	for name, deed := range deeds {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				v := anyView(t)
				seen := written(t, v)
				for range 4 {
					events, err := deed(v, anyAsk(t))
					require.Equal(t, seen, written(t, v), "a decision changes nothing that it looks at")
					if err != nil {
						answers(t, err)
						require.Empty(t, events, "all or none")
						continue
					}
					require.NotEmpty(t, events, "it says yes, and nothing happens")
					happen(t, v, events)
				}
			})
		})
	}
}

// answers checks that a refusal is one a person can do something with.
func answers(t require.TestingT, err error) {
	p := parts.AsProblem(err)
	require.NotNil(t, p, "%v", err)
	assert.NotEmpty(t, p.Code, "%v", err)
	assert.NotEmpty(t, p.Do, "%v", err)
	assert.NotContains(t, p.Error(), "%!", "the sentence has a place for each of its words")
}

// happen applies events to whatever they are about.
func happen(t require.TestingT, v parts.View, events []parts.Event) {
	states := map[parts.ID]parts.State{}
	for _, s := range append([]parts.State{v.Subject}, v.Group...) {
		states[s.Part] = s
	}
	for _, e := range events {
		require.Contains(t, parts.EventKinds, e.Kind)
		was := states[e.Part]
		e.Seq = was.Seq + 1
		states[e.Part] = parts.Apply(was, e)
		require.Equal(t, e.Seq, states[e.Part].Seq)
	}
}

func written(t require.TestingT, v parts.View) string {
	out, err := json.Marshal(v)
	require.NoError(t, err)
	return string(out)
}

func TestEveryOfferIsTotal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v, a := anyView(t), anyAsk(t)
		seen := written(t, v)
		o, err := routing.OfferAt(v, a.scan.Station, a.scan.Step)
		if err != nil {
			answers(t, err)
		} else {
			require.LessOrEqual(t, 1, o.Due)
			require.LessOrEqual(t, o.Due, o.Most)
		}
		for _, kit := range routing.Kits(v, a.scan) {
			require.GreaterOrEqual(t, kit.Need, 0)
			require.Equal(t, max(0, kit.Need-len(kit.Ready)), kit.Short())
		}
		require.Equal(t, seen, written(t, v))
	})
}

func TestApplyIsTotal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyState(t)
		e := parts.Event{Part: "R1", Seq: s.Seq + 1, Kind: rapid.SampledFrom(append(parts.EventKinds, "sung-to")).Draw(t, "kind"),
			At: anyTime(t), Step: rapid.IntRange(-3, 12).Draw(t, "at step")}
		e.Detail = parts.Detail{Next: rapid.IntRange(-3, 12).Draw(t, "to"), Filled: rapid.SliceOfN(rapid.IntRange(-3, 12), 0, 3).Draw(t, "filled"),
			Waits: anyWaits(t), Repair: anySteps(t, 3), Parts: []parts.ID{"R2"}, Other: "R3", Note: "a knot"}
		if rapid.Bool().Draw(t, "placed") {
			e.Detail.Place, e.Detail.Back = &parts.Place{Waits: e.Detail.Waits}, &parts.State{}
			e.Detail.Birth = &parts.Birth{Kind: parts.Single, First: e.Detail.Next}
		}
		before, err := json.Marshal(s)
		require.NoError(t, err)
		after := parts.Apply(s, e)
		require.Equal(t, s.Seq+1, after.Seq)
		unchanged, err := json.Marshal(s)
		require.NoError(t, err)
		require.Equal(t, string(before), string(unchanged), "what was is not written over")
	})
}
