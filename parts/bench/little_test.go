package bench_test

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// flow is what Little's law joins, for the pieces before one station:
// L = lambda W (J. D. C. Little, Operations Research 9(3), 1961). The figures
// are exact; time counts in milliseconds.
type flow struct {
	pieces  int
	atOnce  *big.Rat // L: how many are there, on average over the time
	arrival *big.Rat // lambda: how many come in a millisecond
	stay    *big.Rat // W: how long one is there, on average over the pieces
}

// law is lambda W.
func (f flow) law() *big.Rat { return new(big.Rat).Mul(f.arrival, f.stay) }

// recording is the log of the parts of a shop.
type recording map[parts.ID][]parts.Event

// flowAt reads from the log alone what went through a station between two
// times. How many are there is counted from where the fold says that every
// part stands; how long each one is there is read from its own scans.
func flowAt(log recording, steps []parts.Step, at parts.Station, from, to time.Time) flow {
	period := big.NewRat(to.Sub(from).Milliseconds(), 1)
	f := flow{atOnce: new(big.Rat).Quo(pieceTime(log, steps, at, from, to), period)}
	var all time.Duration
	for _, events := range log {
		for _, s := range stays(events, steps, at) {
			if !s.came.Before(from) && s.came.Before(to) {
				f.pieces++
				all += s.went.Sub(s.came)
			}
		}
	}
	f.arrival = new(big.Rat).Quo(big.NewRat(int64(f.pieces), 1), period)
	f.stay = big.NewRat(all.Milliseconds(), int64(max(1, f.pieces)))
	return f
}

// turn is a moment at which one more or one less stands before a station.
type turn struct {
	at   time.Time
	more int64
}

// turns replays the log and says when the number before a station changes. A
// part comes there when nothing makes it wait any more.
func turns(log recording, steps []parts.Step, at parts.Station) []turn {
	var out []turn
	for _, events := range log {
		s, here := parts.State{}, false
		for _, e := range events {
			if here {
				out = append(out, turn{e.At, -1})
			}
			s = parts.Apply(s, e)
			if here = s.Next < len(steps) && steps[s.Next].Station == at; here {
				came := e.At
				if s.Ready().After(came) {
					came = s.Ready()
				}
				out = append(out, turn{came, 1})
			}
		}
	}
	slices.SortFunc(out, func(a, b turn) int { return cmp.Or(a.at.Compare(b.at), cmp.Compare(a.more, b.more)) })
	return out
}

// pieceTime is the area under the number of pieces before a station.
func pieceTime(log recording, steps []parts.Step, at parts.Station, from, to time.Time) *big.Rat {
	area, n, since := new(big.Rat), int64(0), from
	add := func(until time.Time) {
		area.Add(area, big.NewRat(n*until.Sub(since).Milliseconds(), 1))
		since = until
	}
	for _, t := range turns(log, steps, at) {
		if t.at.After(to) {
			break
		}
		if t.at.After(since) {
			add(t.at)
		}
		n += t.more
	}
	add(to)
	return area
}

// crowd is how many stand before a station at a time, by the log.
func crowd(log recording, steps []parts.Step, at parts.Station, when time.Time) (n int) {
	for _, t := range turns(log, steps, at) {
		if !t.at.After(when) {
			n += int(t.more)
		}
	}
	return n
}

type stay struct{ came, went time.Time }

// stays are the times that one part was before a station: from the scan
// before, or the end of the clock that this started, to the scan there.
func stays(events []parts.Event, steps []parts.Step, at parts.Station) []stay {
	var out []stay
	came := events[0].At
	for _, e := range events[1:] {
		if e.Kind != parts.Did {
			continue
		}
		if steps[e.Step].Station == at {
			out = append(out, stay{came, e.At})
		}
		came = e.At
		for _, w := range e.Detail.Waits {
			came = w.Until
		}
	}
	return out
}

// Four worked examples as courses on operations print them; each is one
// multiplication, done again by hand. Who stands before a station comes evenly
// and leaves as evenly, and all three figures must come out of the log.
func TestLittleByHand(t *testing.T) {
	const day = 24 * time.Hour
	tests := []struct {
		name           string
		every, there   time.Duration // between two arrivals; how long each is there
		atOnce, perDay int64
	}{
		{"1000 a day, 5 days each: 5000", day / 1000, 5 * day, 5000, 1000},
		{"120 a day, 5 days each: 600", day / 120, 5 * day, 600, 120},
		{"15 before it, 5 an hour: 3 h each", time.Hour / 5, 3 * time.Hour, 15, 120},
		{"500 inside, 1000 an hour: half an hour each", time.Hour / 1000, time.Hour / 2, 500, 24_000},
	}
	steps := []parts.Step{{Name: "plane", Station: "plane"}}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			from := shoptest.Noon.Add(tt.there) // by then as many leave as come
			to := from.Add(max(tt.there, time.Hour))
			log := recording{}
			for i := 0; shoptest.Noon.Add(time.Duration(i) * tt.every).Before(to); i++ {
				id := parts.ID(fmt.Sprint(i))
				came := shoptest.Noon.Add(time.Duration(i) * tt.every)
				log[id] = []parts.Event{
					{Part: id, Seq: 1, Kind: parts.Listed, At: came, Step: -1, Detail: parts.Detail{Birth: &parts.Birth{Kind: parts.Single}}},
					{Part: id, Seq: 2, Kind: parts.Did, Station: "plane", At: came.Add(tt.there), Detail: parts.Detail{Next: 1, Finished: true}},
				}
			}
			f := flowAt(log, steps, "plane", from, to)
			perDay := new(big.Rat).Mul(f.arrival, big.NewRat(day.Milliseconds(), 1))
			assert.Equal(t, fmt.Sprint(tt.atOnce), f.atOnce.RatString())
			assert.Equal(t, fmt.Sprint(tt.perDay), perDay.RatString())
			assert.Equal(t, fmt.Sprint(tt.there.Milliseconds()), f.stay.RatString())
			assert.Zero(t, f.atOnce.Cmp(f.law()), "L = lambda W")
		})
	}
}

// On the recorded log of a month Little's law holds at every station: exactly
// when everything that came has gone again, and within 1 % between two
// mornings in the middle, when some lie there from the day before.
func TestLittleOnARecordedLog(t *testing.T) {
	m := liveAMonth(t)
	log := m.log(t)
	from, to := morning(firstOpen), morning(lastOpen)
	cut := 0 // stations at which somebody's stay is cut through by the window
	for at, visits := range map[parts.Station]int{"plane": 2, "bore": 1, "sand": 1, "wrap": 1} {
		closed := flowAt(log, m.steps, at, shoptest.Noon, m.clock.Now())
		require.Equal(t, visits*mornings*perDay, closed.pieces, "all have been at %s", at)
		assert.Zero(t, closed.atOnce.Cmp(closed.law()), "%s: L is %s and lambda W is %s", at, closed.atOnce, closed.law())

		open := flowAt(log, m.steps, at, from, to)
		l, _ := open.atOnce.Float64()
		law, _ := open.law().Float64()
		assert.InEpsilon(t, law, l, 0.01, "%s", at)
		if open.atOnce.Cmp(open.law()) != 0 {
			cut++
		}
		t.Logf("%s: %.3f pieces there on average, lambda W %.3f in the window", at, l, law)
	}
	require.NotZero(t, cut, "a window that cuts nothing off proves no more than the whole log")
}
