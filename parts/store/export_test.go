package store

import "context"

// Waiting is how many works wait for the writer.
func (s *Store) Waiting() int { return len(s.jobs) }

// Desk keeps the writer, and callers who would write themselves, from deciding
// until leave is called: what is asked meanwhile waits for the writer.
func (s *Store) Desk() (leave func()) {
	s.desk.Lock()
	return s.desk.Unlock
}

// atRest runs do while nothing is being written.
func (s *Store) atRest(do func() error) error {
	defer s.Desk()()
	s.landed(context.Background())
	return do()
}

// Turn runs do in the writer. turn is the same for works that commit together.
func (s *Store) Turn(alone bool, do func(turn any) error) error {
	return s.run(context.Background(), alone, func(t *tx) error { return do(t) })
}

// HotQueries are the readings of a scan by the index that serves them.
var HotQueries = map[string]string{
	"part_states_1 (part=?)": readState, "part_states_spare": readSpares, "part_states_by_line (line=?)": readLine,
	"part_states_by_line": readKit, "part_states_in ": readInside,
}

// Pragma sets something of the writer's connection.
func (s *Store) Pragma(text string) error {
	return s.atRest(func() error {
		_, err := s.pencil.ExecContext(context.Background(), "PRAGMA "+text)
		return err
	})
}

// Probe is what the idle writer does from time to time after a failure.
func (s *Store) Probe() {
	s.atRest(func() error { s.probe(context.Background()); return nil })
}

// Gently runs something as a backup is made.
var Gently = gently

// What SQLite's log may hold: works, and pages.
const (
	WorksInLog = worksInLog
	LongestLog = longestLog
)
