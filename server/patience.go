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
	if !l.AllowN(now, 1) {
		return parts.Problemf(parts.TooMany, "too-many", "That was tried too often.").Next("Wait half a minute and try again.")
	}
	return nil
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
