package drying

import (
	"slices"
	"sort"
	"sync"
	"time"
)

// Gauge holds the readings of one place and answers how far a product came
// between two moments. It keeps a running sum for each way of drying, so that
// the integral is never taken from the beginning again: with n readings a
// question costs two searches, O(log n), however long the part has been wet;
// a reading at the end costs O(1) for each way of drying, and one that comes
// late, or from an earlier time, O(n - its place). Sums are made when first
// asked for, O(n) once. Readings from before the oldest wet part need not be
// in it. It may be used by several goroutines at once.
type Gauge struct {
	deficit Deficit
	usual   Reading

	mu       sync.Mutex
	readings []Reading // in order of time, no two of one millisecond
	at       []int64   // their times
	tracks   map[class]*track
}

// track is the running sum of one class: sums[i] is from the first reading to
// reading i, paces[i] holds from reading i on.
type track struct {
	before pace // until the first reading
	paces  []pace
	sums   []sum
}

// sum is what a stretch of time adds up to. A rate in millionths over
// milliseconds is nanoseconds, so it is whole numbers throughout.
type sum struct {
	done int64              // progress in ns at the sheet's speed
	took [len(causes)]int64 // ms that went slowly, by cause
	got  [len(causes)]int64 // ns of progress in them
}

// over is what ms milliseconds at this pace add up to.
func (p pace) over(ms int64) sum {
	s := sum{done: int64(p.rate) * ms}
	if p.cause >= 0 {
		s.took[p.cause], s.got[p.cause] = ms, s.done
	}
	return s
}

func (s sum) plus(o sum) sum {
	s.done += o.done
	for i := range causes {
		s.took[i] += o.took[i]
		s.got[i] += o.got[i]
	}
	return s
}

func (s sum) minus(o sum) sum {
	s.done -= o.done
	for i := range causes {
		s.took[i] -= o.took[i]
		s.got[i] -= o.got[i]
	}
	return s
}

// NewGauge makes a gauge without readings. Until the first one the air is
// taken to be usual, whose time does not matter.
func NewGauge(deficit Deficit, usual Reading) (*Gauge, error) {
	if err := usual.CheckAir(); err != nil {
		return nil, err
	}
	return &Gauge{deficit: deficit, usual: usual, tracks: map[class]*track{}}, nil
}

// Add puts in readings, in any order; one of the same time replaces the other.
// If any of them is bad, none is put in.
func (g *Gauge) Add(readings ...Reading) error {
	for _, r := range readings {
		if err := r.Check(); err != nil {
			return err
		}
	}
	readings = slices.Clone(readings)
	slices.SortStableFunc(readings, func(a, b Reading) int { return a.At.Compare(b.At) })
	g.mu.Lock()
	defer g.mu.Unlock()
	changed := len(g.at)
	for _, r := range readings {
		changed = min(changed, g.put(r))
	}
	// What is summed up to the first change stays; the rest is made again
	// when somebody asks.
	for _, t := range g.tracks {
		keep := min(changed, len(t.sums))
		t.paces, t.sums = t.paces[:keep], t.sums[:keep]
	}
	return nil
}

// put places one reading and says where.
func (g *Gauge) put(r Reading) int {
	ms := millis(r.At)
	i := g.first(ms)
	if i < len(g.at) && g.at[i] == ms {
		g.readings[i] = r
		return i
	}
	g.at = slices.Insert(g.at, i, ms)
	g.readings = slices.Insert(g.readings, i, r)
	return i
}

// first is the index of the first reading at or after ms.
func (g *Gauge) first(ms int64) int {
	return sort.Search(len(g.at), func(i int) bool { return g.at[i] >= ms })
}

// Air is the reading that holds at a moment, and false where none does: then
// it is the usual air.
func (g *Gauge) Air(t time.Time) (Reading, bool) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if i := g.first(millis(t)+1) - 1; i >= 0 {
		return g.readings[i], true
	}
	return g.usual, false
}

// Rate is how fast the product goes in some air.
func (g *Gauge) Rate(p Product, air Reading) Rate {
	return p.class().pace(g.deficit, air.Celsius, air.Humidity).rate
}

// Progress is how much of its data sheet's time a product went through
// between two moments.
func (g *Gauge) Progress(p Product, from, to time.Time) time.Duration {
	g.mu.Lock()
	defer g.mu.Unlock()
	start, end := millisUp(from), millis(to)
	if end <= start {
		return 0
	}
	t := g.track(p.class())
	return time.Duration(g.total(t, end).done - g.total(t, start).done)
}

// track gives the sums of a class, made up to the last reading.
func (g *Gauge) track(c class) *track {
	t := g.tracks[c]
	if t == nil {
		t = &track{before: c.pace(g.deficit, g.usual.Celsius, g.usual.Humidity)}
		g.tracks[c] = t
	}
	for i := len(t.sums); i < len(g.at); i++ {
		var s sum
		if i > 0 {
			s = t.sums[i-1].plus(t.paces[i-1].over(g.at[i] - g.at[i-1]))
		}
		t.sums = append(t.sums, s)
		t.paces = append(t.paces, c.pace(g.deficit, g.readings[i].Celsius, g.readings[i].Humidity))
	}
	return t
}

// total is the sum from the first reading to ms. Before that reading it is
// negative: only differences mean something.
func (g *Gauge) total(t *track, ms int64) sum {
	i := g.first(ms+1) - 1
	base, since, p := g.segment(t, i)
	return base.plus(p.over(ms - since))
}

// segment is the stretch that begins at reading i, or the one before all
// readings for -1: the sum and the time at its known end, and its pace.
func (g *Gauge) segment(t *track, i int) (base sum, since int64, p pace) {
	switch {
	case i >= 0:
		return t.sums[i], g.at[i], t.paces[i]
	case len(g.at) > 0:
		return sum{}, g.at[0], t.before
	}
	return sum{}, millis(earliest), t.before
}

// reached is the first millisecond at which a value that never falls is at
// least want. value reads it from a sum.
func (g *Gauge) reached(t *track, want int64, value func(sum) int64) int64 {
	i := sort.Search(len(t.sums), func(i int) bool { return value(t.sums[i]) >= want }) - 1
	base, since, p := g.segment(t, i)
	gain := value(p.over(1))
	if gain <= 0 {
		return since
	}
	return since + ceilDiv(want-value(base), gain)
}

// ceilDiv divides and rounds up, for any n and positive d.
func ceilDiv(n, d int64) int64 {
	q := n / d
	if n%d > 0 {
		q++
	}
	return q
}
