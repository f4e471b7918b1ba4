package server

import (
	"sync"
	"time"

	"golang.org/x/time/rate"

	"benchtally/parts"
)

// patience bounds how often one asks: for each key some at once, and then one
// at a time.
type patience struct {
	each  rate.Limit
	burst int
	mu    sync.Mutex
	keys  map[string]*rate.Limiter
}

// mostPatience bounds the memory of patience. A key that has all its turns
// again is as good as new.
const mostPatience = 4096

func newPatience(each rate.Limit, burst int) *patience {
	return &patience{each: each, burst: burst, keys: map[string]*rate.Limiter{}}
}

// ask takes a turn of a key, or says that there is none left.
func (p *patience) ask(key string, now time.Time) error {
	if !p.of(key, now).AllowN(now, 1) {
		return parts.Problemf(parts.TooMany, "too-fast", "This phone or program asks too often.").Next("Wait a second between requests.")
	}
	return nil
}

// try lets somebody try a secret. Only a try that fails takes a turn; while
// one is under way it counts, so that many at once do not count as none.
func (p *patience) try(key string, now time.Time, do func() error) error {
	turn := p.of(key, now).ReserveN(now, 1)
	if turn.DelayFrom(now) > 0 {
		turn.CancelAt(now)
		return parts.Problemf(parts.TooMany, "too-many", "That was tried too often.").Next("Wait half a minute and try again.")
	}
	err := do()
	if err == nil {
		turn.CancelAt(now)
	}
	return err
}

func (p *patience) of(key string, now time.Time) *rate.Limiter {
	p.mu.Lock()
	defer p.mu.Unlock()
	l := p.keys[key]
	if l == nil {
		if len(p.keys) >= mostPatience {
			p.forget(now)
		}
		l = rate.NewLimiter(p.each, p.burst)
		p.keys[key] = l
	}
	return l
}

// forget drops the keys that have all their turns again, or all when that
// frees none: many keys at once are an attack, which the bursts then slow.
func (p *patience) forget(now time.Time) {
	for key, l := range p.keys {
		if l.TokensAt(now) >= float64(p.burst) {
			delete(p.keys, key)
		}
	}
	if len(p.keys) >= mostPatience {
		clear(p.keys)
	}
}
