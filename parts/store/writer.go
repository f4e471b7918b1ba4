package store

import (
	"context"
	"fmt"
	"runtime"
	"runtime/debug"
	"slices"
	"time"

	"benchtally/parts"
)

// mostTogether bounds a group of commands in one commit.
const mostTogether = 256

// work is something that waits for the writer. do may run twice: in its group
// and, when the group fails, alone; so it keeps nothing between runs.
type work struct {
	do    func(*tx) error
	alone bool     // a large one: it commits by itself
	about *Command // what is asked, for reading ahead; nil for what is no command
	done  chan error
}

// run hands do to the writer and waits for its commit. It may write whatever
// it likes, so the writer remembers nothing of what was before.
func (s *Store) run(ctx context.Context, alone bool, do func(*tx) error) error {
	return s.hand(ctx, &work{alone: alone, do: func(t *tx) error {
		defer s.memory.forget()
		return do(t)
	}})
}

// hand hands w to the writer and waits for its commit. A caller who goes away
// does not stop it: the phone that hung up gets its answer on the next try.
func (s *Store) hand(ctx context.Context, w *work) error {
	w.done = make(chan error, 1)
	if s.atOnce(ctx, w) {
		return <-w.done
	}
	if err := s.join(ctx, w); err != nil {
		return err
	}
	select {
	case err := <-w.done:
		return err
	case <-s.stopped:
		select {
		case err := <-w.done:
			return err
		default:
			return closedProblem()
		}
	}
}

// join joins those who wait for the writer.
func (s *Store) join(ctx context.Context, w *work) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	select {
	case <-s.quit:
		return closedProblem()
	default:
	}
	select {
	case s.jobs <- w:
		return nil
	default: // so many that there is no room
	}
	select {
	case <-s.quit:
		return closedProblem()
	case <-ctx.Done():
		return ctx.Err()
	case s.jobs <- w:
		return nil
	}
}

// atOnce writes a command where its caller is, when nobody else is at the desk
// and nothing waits: to call the writer and be called back takes as long as to
// decide. It is for SQLite, where the way to the disk is short.
func (s *Store) atOnce(ctx context.Context, w *work) bool {
	if s.postgres || !s.goesAhead(w) || !s.desk.TryLock() {
		return false
	}
	defer s.desk.Unlock()
	select {
	case <-s.quit:
		return false
	default:
	}
	if s.under != nil || len(s.jobs) > 0 {
		return false
	}
	s.commitGroup(context.WithoutCancel(ctx), []*work{w})
	return true
}

func closedProblem() error {
	return parts.Problemf(parts.Busy, "closing", "The server is stopping.").Next("Send it again when it is back.")
}

// runWriter is the goroutine that decides what is written. It takes what
// waits, decides each on the state the one before left, commits once, and
// answers all.
func (s *Store) runWriter(ctx context.Context) {
	defer close(s.stopped)
	if s.postgres {
		s.runTogether(ctx)
		return
	}
	again := time.NewTicker(probeEvery)
	defer again.Stop()
	s.desk.Lock()
	defer s.desk.Unlock()
	var first, held *work
	for {
		if first, held = held, nil; first == nil {
			var open bool
			if first, open = s.await(ctx, again.C); !open {
				s.drain(ctx)
				return
			}
		}
		switch {
		case first == nil:
		case s.goesAhead(first):
			held = s.decideAhead(ctx, first)
		default:
			s.landed(ctx)
			held = s.together(ctx, first)
		}
	}
}

// await leaves the desk until there is something to do: a work, which it gives
// back, a group that arrived, or a look at what had failed. It is not open any
// more when the store closes.
func (s *Store) await(ctx context.Context, again <-chan time.Time) (first *work, open bool) {
	arrived, late := s.under.arrived(), false
	open = true
	s.desk.Unlock()
	select {
	case first = <-s.jobs:
	case <-arrived:
	case <-again:
		late = true
	case <-s.quit:
		open = false
	}
	s.desk.Lock()
	if first == nil {
		s.landed(ctx)
	}
	if late {
		s.probe(ctx)
	}
	return first, open
}

// together commits first with what waits; what is not of their kind it gives
// back.
func (s *Store) together(ctx context.Context, first *work) (held *work) {
	group := []*work{first}
	if !first.alone {
		runtime.Gosched() // lets those who are about to ask ask
		group, held = s.gather(group)
	}
	s.commitGroup(ctx, group)
	return held
}

// gather adds what waits to the group; a large one is held for its own turn.
func (s *Store) gather(group []*work) ([]*work, *work) {
	for len(group) < mostTogether {
		select {
		case w := <-s.jobs:
			if w.alone {
				return group, w
			}
			group = append(group, w)
		default:
			return group, nil
		}
	}
	return group, nil
}

// drain finishes what was handed in before the store closed.
func (s *Store) drain(ctx context.Context) {
	for {
		select {
		case w := <-s.jobs:
			s.commitGroup(ctx, []*work{w})
		default:
			return
		}
	}
}

// commitGroup commits the group together; when anything in it fails for a
// reason of the program or the disk, each is tried alone, so that one faulty
// command does not hurt its neighbours.
func (s *Store) commitGroup(ctx context.Context, group []*work) {
	began := time.Now()
	errs, err := s.persist(ctx, group)
	if err == nil {
		s.answer(group, errs, began)
		s.logged(ctx, group)
		return
	}
	if len(group) == 1 {
		if parts.AsProblem(err) == nil {
			err = s.Explain(err)
		}
		group[0].done <- err
		return
	}
	for _, w := range group {
		s.commitGroup(ctx, []*work{w})
	}
}

// answer gives each work of a group, on which the writer began at a time, its
// own answer.
func (s *Store) answer(group []*work, errs []error, began time.Time) {
	s.tally.group(len(group), time.Since(began))
	for i, w := range group {
		w.done <- errs[i]
	}
}

// attempt runs the group in one transaction. The returned error means that
// nothing was written; errs are each command's own answer.
func (s *Store) attempt(ctx context.Context, group []*work) (errs []error, err error) {
	if p := s.stoppedBy(); p != nil && p.Code == "file-damaged" {
		return slices.Repeat([]error{error(p)}, len(group)), nil // what is written into a damaged file may damage more
	}
	t, err := s.begin(ctx, group...)
	if s.postgres && passing(err) {
		return nil, err
	}
	if err != nil {
		return slices.Repeat([]error{s.Explain(err)}, len(group)), nil // trying each alone would only wait longer
	}
	committed := false
	defer func() {
		t.end()
		if !committed {
			s.memory.forget()
		}
	}()
	if errs, err = t.decide(group); err != nil {
		return nil, err
	}
	if err := t.commit(errs); err != nil {
		if err = fmt.Errorf("commit: %w", err); s.postgres {
			return nil, err // it is looked up: see persist
		}
		return nil, s.notCommitted(err)
	}
	committed = true
	t.tell()
	return errs, nil
}

// decide runs the works of a group and gives each one's answer. What already
// arrived with a commit that got no answer is not done again.
func (t *tx) decide(group []*work) (errs []error, err error) {
	if errs, arrived := t.arrived(); arrived {
		return errs, nil
	}
	for _, w := range group {
		err := guarded(w.do, t)
		if err != nil && parts.AsProblem(err) == nil {
			return nil, err
		}
		errs = append(errs, err)
	}
	return errs, t.down()
}

// notCommitted says what became of a group whose commit failed. A full disk
// takes no last frame, and a file that was locked or read-only took none; of
// any other failure only the next start knows.
func (s *Store) notCommitted(err error) error {
	switch p := parts.AsProblem(s.Explain(err)); {
	case p != nil && (p.Code == "disk-full" || p.Code == "disk-read-only" || p.Code == "file-locked"):
		return p
	}
	return outcomeUnknown().Next("Sending it again is safe.").Because(err)
}

// guarded turns a panic into an error of the command that caused it.
func guarded(do func(*tx) error, t *tx) (err error) {
	defer caught(&err)
	return do(t)
}

func caught(err *error) {
	if r := recover(); r != nil {
		*err = fmt.Errorf("panic in a command: %v\n%s", r, debug.Stack())
	}
}
