package rework_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/rework"
)

// log is the history of one part, in the order of what the test writes.
type log []parts.Event

func (l *log) add(command byte, kind parts.EventKind, d parts.Detail) {
	*l = append(*l, parts.Event{Part: "R1", Seq: len(*l) + 1, Kind: kind, Command: parts.CommandID{command},
		At: noon.Add(time.Duration(len(*l)) * time.Minute), Step: -1, Detail: d})
}

// trace is what the store gives for a command of the log.
func (l log) trace(command byte) parts.Trace {
	var t parts.Trace
	first := 0
	for _, e := range l {
		label := e.Kind == parts.Printed || e.Kind == parts.LabelWaits
		if e.Command[0] == command && first == 0 {
			first, t.Before = e.Seq, l[:e.Seq-1]
		}
		if !label {
			t.Last = e
		} else if first > 0 && e.Command[0] != command {
			t.Since = append(t.Since, e)
		}
	}
	t.Now = parts.Fold(l)
	return t
}

func (l log) undo(command byte) ([]parts.Event, error) {
	name := func(s parts.State) string { return string(s.Part) }
	return rework.Undo(parts.CommandID{command}, []parts.Trace{l.trace(command)}, name, 3, "wrong ticket", noon.Add(time.Hour))
}

// born is a part on the list that was planed by command 1.
func born() log {
	var l log
	l.add(0, parts.Listed, parts.Detail{Birth: &parts.Birth{Kind: parts.Single, Line: 1, Number: 1, Steps: 1}})
	l.add(1, parts.Did, parts.Detail{Next: 1})
	return l
}

func TestUndo(t *testing.T) {
	wait := []parts.Wait{{Clock: parts.Setting, Until: noon.Add(time.Hour)}}
	tests := []struct {
		name  string
		also  func(*log)
		undo  byte
		code  string
		state func(*parts.State) // what differs from the part as planed
	}{
		{"a scan", nil, 1, "", func(s *parts.State) { *s = parts.Fold(born()[:1]) }},
		{"a plug", func(l *log) { l.add(2, parts.Plugged, parts.Detail{Repair: steps[:2], Waits: wait}) }, 2, "", nil},
		{"a hold", func(l *log) { l.add(2, parts.Held, parts.Detail{Note: "a knot"}) }, 2, "", nil},
		{"a scrapping", func(l *log) { l.add(2, parts.Scrapped, parts.Detail{Other: "R9"}) }, 2, "", nil},
		{"a scrapping with a label in the queue: it waits again",
			func(l *log) {
				l.add(2, parts.LabelWaits, parts.Detail{})
				l.add(3, parts.Scrapped, parts.Detail{Other: "R9"})
			}, 3, "",
			func(s *parts.State) { s.LabelDue = true }},
		{"a place that was taken, with the label that it queued",
			func(l *log) {
				l.add(2, parts.TookPlace, parts.Detail{Other: "R9"})
				l.add(2, parts.LabelWaits, parts.Detail{})
			}, 2, "", nil},
		{"a scan before a label was printed: the label lies on the bench",
			func(l *log) {
				l.add(2, parts.Did, parts.Detail{Next: 2})
				l.add(3, parts.Printed, parts.Detail{Copy: 1})
			}, 2, "",
			func(s *parts.State) { s.Copies = 1 }},
		{"a scan before a label was queued: it stays in the queue",
			func(l *log) { l.add(2, parts.Did, parts.Detail{Next: 2}); l.add(3, parts.LabelWaits, parts.Detail{}) }, 2, "",
			func(s *parts.State) { s.LabelDue = true }},
		{"something came later", func(l *log) { l.add(2, parts.Did, parts.Detail{Next: 2}) }, 1, "later-event", nil},
		{"undone already", func(l *log) { l.revert(t, 1) }, 1, "undone-already", nil},
		{"only what came later was undone", func(l *log) { l.add(2, parts.Did, parts.Detail{Next: 2}); l.revert(t, 2) }, 1, "later-event", nil},
		{"an undoing is undone", func(l *log) { l.revert(t, 1) }, 101, "", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := born()
			if tt.also != nil {
				tt.also(&l)
			}
			events, err := l.undo(tt.undo)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code != "" {
				return
			}
			want := parts.Fold(born())
			if tt.state != nil {
				tt.state(&want)
			}
			events[0].Seq = len(l) + 1
			got := parts.Apply(parts.Fold(l), events[0])
			want.Seq = got.Seq
			assert.Equal(t, want, got)
		})
	}
}

// revert undoes a command of the log by command 100 and its own number.
func (l *log) revert(t *testing.T, command byte) {
	events, err := l.undo(command)
	require.NoError(t, err)
	l.add(100+command, parts.Reverted, events[0].Detail)
}

func TestWhatWasMadeByMistakeIsVoid(t *testing.T) {
	var l log
	l.add(1, parts.Listed, parts.Detail{Birth: &parts.Birth{Kind: parts.Single, Line: 1, Number: 1, Replaces: "R9"}})
	l.add(1, parts.LabelWaits, parts.Detail{})
	events, err := l.undo(1)
	require.NoError(t, err)
	l.add(2, parts.Reverted, events[0].Detail)
	got := parts.Fold(l)
	assert.True(t, got.Scrapped, "a mark is never taken back")
	assert.False(t, got.LabelDue, "its label is not printed any more")
	assert.Equal(t, parts.ID("R1"), got.Part)
	_, err = l.undo(1)
	assert.Equal(t, "undone-already", parts.CodeOf(err))
}

func TestUndoOfNothing(t *testing.T) {
	_, err := rework.Undo(parts.CommandID{9}, nil, nil, 0, "", noon)
	assert.Equal(t, "nothing-to-undo", parts.CodeOf(err))
	assert.Equal(t, parts.Missing, parts.AsProblem(err).Sort)
}

func TestUndoOfSeveralIsAllOrNone(t *testing.T) {
	first, second := born(), born()
	second.add(2, parts.Did, parts.Detail{Next: 2})
	name := func(s parts.State) string { return "Rail" }
	events, err := rework.Undo(parts.CommandID{1}, []parts.Trace{first.trace(1), second.trace(1)}, name, 0, "", noon)
	assert.Equal(t, "later-event", parts.CodeOf(err))
	assert.Empty(t, events)
}
