package store

import (
	"context"
	"errors"
	"runtime"
	"slices"
	"time"

	"benchtally/parts"
)

// underway is a group on its way to the disk, on SQLite. Meanwhile the writer
// decides the next one on what it remembers, as if this one had arrived. When
// it does not arrive, the next is decided again: nobody was answered yet.
type underway struct {
	done chan struct{} // closed at the end of the way
	kept bool          // it is on the disk
	left []*work       // got no answer and is to be tried again
}

func (u *underway) arrived() <-chan struct{} {
	if u == nil {
		return nil
	}
	return u.done
}

// ended reports whether nothing is on its way any more.
func (u *underway) ended() bool {
	if u == nil {
		return true
	}
	select {
	case <-u.done:
		return true
	default:
		return false
	}
}

// errOvertaken says that what a group was decided on did not come to be.
var errOvertaken = errors.New("the group before was not saved, or somebody else has written")

// goesAhead reports whether a work is decided while others are on their way:
// commands are, since they read what the writer remembers.
func (s *Store) goesAhead(w *work) bool { return !w.alone && w.about != nil }

// decideAhead decides first and what comes while the group before is on its
// way, and sends them after it. It gives back a work that is not of their kind.
func (s *Store) decideAhead(ctx context.Context, first *work) (held *work) {
	t := &tx{s: s, ctx: ctx, began: time.Now()}
	var group []*work
	var errs []error
	faulty := false
	for w := first; w != nil; w, held = s.another(len(group), t.db == nil) {
		group = append(group, w)
		err := guarded(w.do, t)
		if faulty = err != nil && parts.AsProblem(err) == nil; faulty {
			break
		}
		errs = append(errs, err)
	}
	if !s.landed(ctx) || faulty {
		t.end()
		s.memory.forget()
		s.commitGroup(ctx, group)
		return held
	}
	s.send(t, group, errs)
	return held
}

// another gives the next work of a group that has n, nil when it is complete:
// when nothing waits and nothing is on its way. Half of those who were answered
// in the last two groups are enough then, as long as the group is ahead: if all
// who ask were answered together, and so asked together again, nothing would be
// left to decide meanwhile. A group that had to read the file is not ahead any
// more, and takes all that wait. held is one of another kind.
func (s *Store) another(n int, ahead bool) (next, held *work) {
	if n == mostTogether || ahead && n >= s.half && s.under.ended() {
		return nil, nil
	}
	if n == 1 {
		runtime.Gosched() // lets those who are about to ask ask
	}
	select {
	case next = <-s.jobs:
	default:
		if s.under == nil {
			return nil, nil
		}
		select {
		case next = <-s.jobs:
		case <-s.under.done:
			return nil, nil
		}
	}
	if !s.goesAhead(next) {
		return nil, next
	}
	return next, nil
}

// send sends a decided group on its way.
func (s *Store) send(t *tx, group []*work, errs []error) {
	if !t.wrote && t.db == nil {
		s.answer(group, errs, t.began)
		return
	}
	u := &underway{done: make(chan struct{})}
	s.under, s.half, s.last = u, (s.last+len(group)+1)/2, len(group)
	go func() {
		defer close(u.done)
		defer t.end()
		u.commit(t, group, errs)
	}()
}

// commit writes the group and answers those who wait for it.
func (u *underway) commit(t *tx, group []*work, errs []error) {
	s := t.s
	if p := s.stoppedBy(); p != nil && p.Code == "file-damaged" {
		s.answer(group, slices.Repeat([]error{error(p)}, len(group)), t.began) // what is written into a damaged file may damage more
		return
	}
	if t.db == nil {
		if err := t.openFile(); err != nil {
			s.answer(group, slices.Repeat([]error{s.Explain(err)}, len(group)), t.began) // trying each alone would only wait longer
			return
		}
		if now, err := t.fileVersion(); err != nil || now != s.memory.version {
			u.left = group
			return
		}
	}
	if err := t.commit(errs); err != nil {
		u.left = group
		return
	}
	u.kept = true
	t.tell()
	s.answer(group, errs, t.began)
	s.logged(t.ctx, group)
}

// landed waits for the group that is on its way, and reports whether it
// arrived. One that did not is tried again.
func (s *Store) landed(ctx context.Context) bool {
	u := s.under
	if u == nil {
		return true
	}
	<-u.done
	s.under = nil
	if u.kept {
		return true
	}
	s.memory.forget()
	if len(u.left) > 0 {
		s.commitGroup(ctx, u.left)
	}
	return false
}

// ready opens the transaction of a group that is decided ahead, when something
// is asked of the file, and writes what was decided before.
func (t *tx) ready() error {
	if t.pipe != nil {
		return nil // on PostgreSQL; see begun
	}
	if t.db == nil {
		if u := t.s.under; u != nil {
			if <-u.done; !u.kept {
				return errOvertaken
			}
		}
		was := t.s.memory.version
		if err := t.open(nil); err != nil {
			return err
		}
		if t.s.memory.version != was {
			return errOvertaken
		}
	}
	return t.down()
}
