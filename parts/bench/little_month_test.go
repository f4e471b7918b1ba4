package bench_test

import (
	"context"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/cutlist"
	"benchtally/parts/shoptest"
)

// A month of a shop: every morning a list of slats comes in, each station
// takes one after the other, and some are laid aside for a day.
const (
	mornings  = 22
	perDay    = 36
	firstOpen = 4 // the window is from this morning ...
	lastOpen  = 19
)

// slatSteps come back to a station they have been at, and rest once.
var slatSteps = parts.Routing{Name: "Bench slat", For: parts.Single, Steps: []parts.Step{
	{Name: "plane", Station: "plane"},
	{Name: "rest", Clock: parts.Resting, Minutes: 150},
	{Name: "bore", Station: "bore"},
	{Name: "sand", Station: "sand"},
	{Name: "ease the edges", Station: "plane"},
	{Name: "wrap", Station: "wrap"},
}}

// month is what liveAMonth leaves.
type month struct {
	*bench.Bench
	clock *shoptest.Clock
	steps []parts.Step
	marks []string
	done  [][]time.Time // of each part: when each of its steps of work is done
}

// morning is when the list of a day comes in.
func morning(n int) time.Time { return shoptest.Noon.Add(time.Duration(n) * 24 * time.Hour) }

// liveAMonth lets a shop work, and compares what the first page says each
// morning with what the log says.
func liveAMonth(t *testing.T) *month {
	clock := shoptest.NewClock()
	m := &month{Bench: shoptest.Open(t, clock), clock: clock, done: plannedMonth()}
	r, err := m.SaveRouting(context.Background(), slatSteps)
	require.NoError(t, err)
	m.steps = r.Steps
	told := make([]int, len(m.done)) // how many steps of each part were scanned
	for day := 0; ; day++ {
		if day < mornings {
			m.list(t, r.Key)
		}
		if day%5 == 0 {
			m.asOnTheFloor(t)
		}
		clock.Pass(24 * time.Hour)
		if !m.work(t, told) && day >= mornings {
			return m
		}
	}
}

// plannedMonth says when each step of each part is done: a station takes what
// lies there in the order in which it came, a random time each.
func plannedMonth() [][]time.Time {
	dice := rand.New(rand.NewPCG(19, 61))
	done := make([][]time.Time, mornings*perDay)
	came := make([]time.Time, len(done))
	for i := range came {
		came[i] = morning(i / perDay)
	}
	for _, s := range slatSteps.Steps {
		if s.Wait() {
			for i := range came {
				came[i] = came[i].Add(s.Lasts())
			}
			continue
		}
		aside := slices.Clone(came)
		order := make([]int, len(came))
		for i := range order {
			order[i] = i
			if dice.IntN(12) == 0 {
				aside[i] = aside[i].Add(time.Duration(dice.IntN(30*3600)) * time.Second)
			}
		}
		slices.SortStableFunc(order, func(a, b int) int { return aside[a].Compare(aside[b]) })
		free := time.Time{}
		for _, i := range order {
			start := aside[i]
			if free.After(start) {
				start = free
			}
			free = start.Add(time.Duration(60_000+dice.IntN(1_200_000)) * time.Millisecond)
			done[i], came[i] = append(done[i], free), free
		}
	}
	return done
}

// list makes the job of one morning.
func (m *month) list(t *testing.T, key string) {
	ctx := context.Background()
	table, err := cutlist.ReadText(fmt.Sprintf("qty,part,length,width,thickness\n%d,Bench slat,48,3,1\n", perDay))
	require.NoError(t, err)
	p, err := m.Preview(ctx, table, cutlist.Choices{}, bench.Picks{Steps: map[int]string{2: key}})
	require.NoError(t, err)
	job, err := m.MakeJob(ctx, shoptest.NewID(), "Tern Point benches", p)
	require.NoError(t, err)
	pieces, err := m.Job(ctx, job.Code)
	require.NoError(t, err)
	for _, s := range pieces.States {
		if s.Kind == parts.Single {
			m.marks = append(m.marks, string(s.Part))
		}
	}
}

// work scans what was done since yesterday, many people at once, each with
// the time at which it was done. It reports whether anything is left.
func (m *month) work(t *testing.T, told []int) bool {
	var all sync.WaitGroup
	const people = 16
	left := make([]bool, people)
	for person := range people {
		all.Go(func() {
			for i := person; i < len(m.marks); i += people {
				for told[i] < len(m.done[i]) && !m.done[i][told[i]].After(m.clock.Now()) {
					if !m.scanned(t, i, told[i]) {
						return
					}
					told[i]++
				}
				left[person] = left[person] || told[i] < len(m.done[i])
			}
		})
	}
	all.Wait()
	return slices.Contains(left, true)
}

// scanned scans the nth step of work of a part.
func (m *month) scanned(t *testing.T, i, n int) bool {
	step := worked()[n]
	a, err := m.Scan(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: m.marks[i],
		Station: m.steps[step].Station, Step: parts.StepNumber(step, false), At: m.done[i][n]})
	return assert.NoError(t, err) && assert.Equal(t, "recorded", a.Outcome) && assert.Empty(t, a.Filled)
}

// worked are the indices of the steps that are no wait.
func worked() (out []int) {
	for i, s := range slatSteps.Steps {
		if !s.Wait() {
			out = append(out, i)
		}
	}
	return out
}

// log reads the whole history back.
func (m *month) log(t *testing.T) recording {
	log := recording{}
	for _, mark := range m.marks {
		events, err := m.Events(context.Background(), mark)
		require.NoError(t, err)
		log[parts.ID(mark)] = events
	}
	return log
}

// asOnTheFloor compares the log with the first page, station by station.
func (m *month) asOnTheFloor(t *testing.T) {
	board, err := m.Floor(context.Background())
	require.NoError(t, err)
	shown := map[parts.Station]int{}
	for _, job := range board.Jobs {
		for _, st := range job.Stations {
			shown[st.Station.Key] += st.Ready
		}
	}
	log := m.log(t)
	counted := map[parts.Station]int{}
	for _, s := range m.steps {
		if n := crowd(log, m.steps, s.Station, m.Now()); !s.Wait() && n > 0 {
			counted[s.Station] = n
		}
	}
	maps.DeleteFunc(shown, func(_ parts.Station, n int) bool { return n == 0 })
	require.Equal(t, counted, shown)
}
