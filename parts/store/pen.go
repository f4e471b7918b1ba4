package store

// pen has the rows of the scan path on SQLite that are not written yet.
type pen struct {
	rows []penned
	err  error // the first one; nothing is written after it
}

// penned is a statement of the scan path with its arguments.
type penned struct {
	query string
	args  []any
}

// write runs a statement of the scan path: on SQLite not before the group is
// on its way or something is read. args do not change afterwards.
func (t *tx) write(query string, args ...any) error {
	if t.s.raw == nil {
		return t.exec(query, args...) // on PostgreSQL, where rows are gathered, or while the shop is opened
	}
	t.wrote = true
	t.pen.rows = append(t.pen.rows, penned{query, args})
	return nil
}

// down writes what is not written yet.
func (t *tx) down() error {
	p := &t.pen
	if len(p.rows) == 0 || p.err != nil {
		return p.err
	}
	for _, row := range p.rows {
		if p.err == nil {
			p.err = t.s.raw[row.query].exec(t.ctx, row.args)
		}
	}
	p.rows = p.rows[:0]
	for _, q := range []string{insertCommand, insertEvent} {
		if p.err == nil {
			p.err = t.s.raw[q].settle(t.ctx)
		}
		t.s.raw[q].drop()
	}
	return p.err
}
