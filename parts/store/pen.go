package store

// pen writes the rows of the scan path on SQLite, on another goroutine while
// the writer decides the next commands. The two take turns on the connection:
// whatever else is asked waits until the pen is down.
type pen struct {
	strokes []func() error // that wait to be done
	busy    chan error     // of those that are being done; nil when none are
	err     error          // the first one; nothing is done after it
}

// together is how many strokes are done while the next commands are decided.
const together = 24

// later has a row of the scan path written: stroke makes its text and puts it
// down. It uses nothing that changes afterwards.
func (t *tx) later(stroke func() error) error {
	if t.s.raw == nil {
		return stroke() // on PostgreSQL, where rows are gathered, or while the shop is opened
	}
	t.wrote = true
	p := &t.pen
	p.strokes = append(p.strokes, stroke)
	if len(p.strokes) < together {
		return nil
	}
	if err := p.wait(); err != nil {
		return err
	}
	strokes, done := p.strokes, make(chan error, 1)
	p.strokes, p.busy = make([]func() error, 0, together), done
	go func() { done <- each(strokes) }()
	return nil
}

// down returns when every stroke is done, or with why one is not.
func (p *pen) down() error {
	if err := p.wait(); err != nil {
		return err
	}
	p.err = each(p.strokes)
	p.strokes = p.strokes[:0]
	return p.err
}

// wait returns when the strokes that are being done are.
func (p *pen) wait() error {
	if p.busy != nil {
		p.err = <-p.busy
		p.busy = nil
	}
	return p.err
}

func each(strokes []func() error) (err error) {
	defer caught(&err)
	for _, stroke := range strokes {
		if err := stroke(); err != nil {
			return err
		}
	}
	return nil
}
