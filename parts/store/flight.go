package store

import (
	"context"
	"fmt"
	"runtime"
	"time"

	"github.com/jackc/pgx/v5"

	"benchtally/parts"
)

// flight is a group of commands that is decided on PostgreSQL without a
// transaction, on what the writer remembers, while the group before is on its
// way. When that has arrived, this one is sent in one round trip: a
// transaction begins, takes the writer's turn, finds that nobody else has
// written, writes and commits. When somebody has, or the group before did not
// arrive, it is decided again, with what is read in the writer's turn: nobody
// was answered yet.
type flight struct {
	t      *tx
	cancel context.CancelFunc
	group  []*work
	errs   []error
	landed chan error // gets how it ended, when it was sent
}

// flights are the group that is on its way and the one that is decided after it.
type flights struct {
	aloft, next *flight
	steady      bool // nobody else wrote between the last groups, so it is worth deciding ahead
}

// runTogether is the writer's loop on PostgreSQL.
func (s *Store) runTogether(ctx context.Context) {
	again := time.NewTicker(probeEvery)
	defer again.Stop()
	for {
		select {
		case err := <-s.flights.landing(): // those who wait for an answer come first
			s.land(ctx, err)
			continue
		default:
		}
		select {
		case err := <-s.flights.landing():
			s.land(ctx, err)
		case first := <-s.jobs:
			s.receive(ctx, first)
		case <-again.C:
			s.settle(ctx)
			s.probe(ctx)
		case <-s.quit:
			s.settle(ctx)
			s.drain(ctx)
			return
		}
	}
}

func (f *flights) landing() <-chan error {
	if f.aloft == nil {
		return nil
	}
	return f.aloft.landed
}

// receive decides first and what waits besides.
func (s *Store) receive(ctx context.Context, first *work) {
	group, held := []*work{first}, (*work)(nil)
	if !first.alone {
		runtime.Gosched() // lets those who are about to ask ask
		group, held = s.gather(group)
	}
	if !s.board(ctx, group) {
		s.settle(ctx)
		s.commitGroup(ctx, group)
	}
	if held != nil {
		s.settle(ctx)
		s.commitGroup(ctx, []*work{held})
	}
}

// settle waits until nothing is on its way and nothing waits for that.
func (s *Store) settle(ctx context.Context) {
	for s.flights.aloft != nil {
		s.land(ctx, <-s.flights.aloft.landed)
	}
}

// foresees reports whether a group may be decided on what is remembered: all
// of it are new commands.
func (s *Store) foresees(group []*work) bool {
	m := &s.memory
	if !s.flights.steady || !m.looked || m.ahead || len(m.since) >= mostRemembered {
		return false
	}
	for _, w := range group {
		if w.alone || w.about == nil || !m.surelyNew(w.about.ID) {
			return false
		}
	}
	return true
}

// board decides a group that the next flight takes. It is false when the
// group is to be decided in a transaction.
func (s *Store) board(ctx context.Context, group []*work) bool {
	if !s.foresees(group) {
		return false
	}
	f := s.flights.next
	s.flights.next = nil
	if f == nil {
		f = s.newFlight(ctx)
	}
	if f.decide(group) != nil {
		s.settle(ctx)
		s.fell(ctx, f)
		return false
	}
	s.flights.next = f
	switch {
	case s.flights.aloft == nil:
		s.takeOff()
	case len(f.group) >= mostTogether:
		s.land(ctx, <-s.flights.aloft.landed)
	}
	return true
}

func (s *Store) newFlight(ctx context.Context) *flight {
	ctx, cancel := context.WithTimeout(ctx, groupDeadline)
	return &flight{t: &tx{s: s, ctx: ctx, pipe: newPipeline(), ahead: true, began: time.Now()}, cancel: cancel}
}

// decide adds a group. After an error nothing of the flight counts.
func (f *flight) decide(group []*work) error {
	if err := f.t.readUnknown(group); err != nil {
		return err
	}
	errs := f.errs
	for _, w := range group {
		err := guarded(w.do, f.t)
		if err != nil && parts.AsProblem(err) == nil {
			return err
		}
		errs = append(errs, err)
	}
	f.group, f.errs = append(f.group, group...), errs
	return nil
}

// readUnknown reads what a group is decided by and the writer does not
// remember, beside the group that is on its way: that changes nothing of it,
// or it would be remembered.
func (t *tx) readUnknown(group []*work) error {
	b := &pgx.Batch{}
	t.readAhead(b, group)
	if b.Len() == 0 {
		return nil
	}
	conn, err := t.s.write.Conn(t.ctx)
	if err != nil {
		return fmt.Errorf("read ahead: %w", err)
	}
	defer conn.Close()
	if err := sendOn(t.ctx, conn, b); err != nil {
		return fmt.Errorf("read ahead: %w", err)
	}
	if t.s.memory.ahead {
		return errOvertaken // it became full while what is older was read
	}
	return nil
}

// takeOff sends the flight that was decided.
func (s *Store) takeOff() {
	f := s.flights.next
	s.flights.aloft, s.flights.next = f, nil
	f.landed = make(chan error, 1)
	f.t.group = f.group
	b := &pgx.Batch{}
	if f.t.conn == nil {
		var err error
		if f.t.conn, err = s.write.Conn(f.t.ctx); err != nil {
			f.landed <- err
			return
		}
		f.t.number, f.t.version = s.number, s.memory.version
		b.Queue("BEGIN")
		b.Queue(takeTurn)
		b.Queue(onlyAfter, s.memory.version)
	}
	f.t.leave(f.errs)
	go func() { f.landed <- f.t.sendCommit(b) }()
}

// land ends the flight that was on its way, and sends the next.
func (s *Store) land(ctx context.Context, err error) {
	f := s.flights.aloft
	s.flights.aloft = nil
	if err == nil {
		f.t.arrive()
		f.end()
		s.away = time.Time{}
		f.t.tell()
		if s.flights.next != nil {
			s.takeOff()
		}
		s.answer(f.group, f.errs, f.t.began)
		return
	}
	if passing(err) {
		s.hangUp()
	}
	s.fell(ctx, f)
	if next := s.flights.next; next != nil {
		s.flights.next = nil
		s.fell(ctx, next)
	}
}

// fell has a flight decided again, in a transaction.
func (s *Store) fell(ctx context.Context, f *flight) {
	f.end()
	s.memory.forget()
	s.flights.steady = false
	if len(f.group) > 0 {
		s.commitGroup(ctx, f.group)
	}
}

func (f *flight) end() {
	f.t.end()
	f.cancel()
}

// begun opens the transaction of a flight when something is to be asked of the
// database, after the group before has arrived.
func (t *tx) begun() (err error) {
	if !t.ahead || t.conn != nil {
		return nil
	}
	s := t.s
	if before := s.flights.aloft; before != nil {
		s.land(context.WithoutCancel(t.ctx), <-before.landed)
		if !before.t.committed {
			return errOvertaken
		}
	}
	if t.conn, err = s.write.Conn(t.ctx); err != nil {
		return fmt.Errorf("begin: %w", err)
	}
	t.db, t.number, t.version = t.conn, s.number, s.memory.version
	b := &pgx.Batch{}
	b.Queue("BEGIN")
	b.Queue(takeTurn)
	b.Queue(onlyAfter, t.version)
	if err := t.send(b); err != nil {
		return fmt.Errorf("begin: %w", err)
	}
	return nil
}
