package server

import (
	"bytes"
	"context"
	"fmt"
	"net/url"
	"sync"
	"time"

	"github.com/gin-gonic/gin"
)

// together is how long changes are gathered before live pages are drawn
// again; quiet is after how long they are drawn again without a change, since
// what dries becomes ready by itself. Between two drawings is at least seldom
// times what the last one took: on a slow computer, too, scans come before
// pictures.
const (
	together = 200 * time.Millisecond
	quiet    = 30 * time.Second
	seldom   = 20
)

// live draws the floor once for everybody who watches it.
type live struct {
	server *Server
	mu     sync.Mutex
	rooms  map[room]map[chan []byte]bool // watchers by what they watch
	stop   chan struct{}
	once   sync.Once
}

// room is what a watcher watches: the floor or the wall, of one job or, with
// "", of all, in a language; of what is wet job is what the address asks for.
type room struct{ page, job, lang string }

func newLive(s *Server) *live {
	l := &live{server: s, rooms: map[room]map[chan []byte]bool{}, stop: make(chan struct{})}
	go l.run()
	return l
}

func (l *live) close() { l.once.Do(func() { close(l.stop) }) }

// run draws the floor after each change, and from time to time.
func (l *live) run() {
	changed, stop := l.server.bench.Watch()
	defer stop()
	tick := time.NewTicker(quiet)
	defer tick.Stop()
	var drawn time.Time // last, which took so long
	var took time.Duration
	for {
		select {
		case <-l.stop:
			return
		case <-tick.C:
		case <-changed:
			select {
			case <-l.stop:
				return
			case <-time.After(max(together, seldom*took-time.Since(drawn))):
			}
		}
		began := time.Now()
		l.draw()
		drawn = time.Now()
		took = drawn.Sub(began)
	}
}

// draw sends each room its floor.
func (l *live) draw() {
	l.mu.Lock()
	var rooms []room
	for r := range l.rooms {
		rooms = append(rooms, r)
	}
	l.mu.Unlock()
	for _, r := range rooms {
		message, err := l.message(r)
		if err != nil {
			l.server.log.Error("draw the floor", "err", err)
			continue
		}
		l.mu.Lock()
		for watcher := range l.rooms[r] {
			select {
			case <-watcher: // an older picture nobody fetched
			default:
			}
			watcher <- message
		}
		l.mu.Unlock()
	}
}

// look gives what a room shows.
func (s *Server) look(r room) (any, error) {
	ctx := speaking(context.Background(), r.lang)
	switch r.page {
	case "wall":
		return s.lookWall(ctx, r.job)
	case "drying":
		asked, err := url.ParseQuery(r.job)
		if err != nil {
			return nil, err
		}
		return s.lookDrying(ctx, asked)
	}
	return s.lookFloor(ctx, r.job)
}

// message is what a room shows as one event of the stream.
func (l *live) message(r room) ([]byte, error) {
	page, err := l.server.look(r)
	if err != nil {
		return nil, err
	}
	t, err := l.server.tongue(speaking(context.Background(), r.lang)).Page(r.page)
	if err != nil {
		return nil, err
	}
	var html bytes.Buffer
	if err := t.ExecuteTemplate(&html, "board", page); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	out.WriteString("event: board\n")
	for line := range bytes.Lines(html.Bytes()) {
		if line = bytes.TrimSpace(line); len(line) > 0 {
			fmt.Fprintf(&out, "data: %s\n", line)
		}
	}
	out.WriteString("\n")
	return out.Bytes(), nil
}

// floorStream keeps a page's floor up to date until the page goes away.
func (s *Server) floorStream(c *gin.Context) { s.stream(c, room{page: "floor", job: c.Query("job")}) }

// stream sends what a room shows now and after each change.
func (s *Server) stream(c *gin.Context, r room) {
	r.lang = s.tongue(c).Key
	watcher := s.live.watch(r)
	defer s.live.leave(r, watcher)
	h := c.Writer.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	first, err := s.live.message(r)
	if err != nil {
		s.fail(c, err)
		return
	}
	if err := s.sendLive(c, first); err != nil {
		return
	}
	for {
		select {
		case <-c.Request.Context().Done():
			return
		case <-s.live.stop:
			return
		case message := <-watcher:
			if !s.stillIn(c) { // it was taken out meanwhile
				return
			}
			if err := s.sendLive(c, message); err != nil {
				return
			}
		}
	}
}

// sendLive sends one message to who takes it in time.
func (s *Server) sendLive(c *gin.Context, message []byte) error {
	s.allow(c, s.limits.moment)
	_, err := c.Writer.Write(message)
	c.Writer.Flush()
	return err
}

// watching counts the live pages that are open.
func (l *live) watching() (n int) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, watchers := range l.rooms {
		n += len(watchers)
	}
	return n
}

func (l *live) watch(r room) chan []byte {
	watcher := make(chan []byte, 1)
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.rooms[r] == nil {
		l.rooms[r] = map[chan []byte]bool{}
	}
	l.rooms[r][watcher] = true
	return watcher
}

func (l *live) leave(r room, watcher chan []byte) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.rooms[r], watcher)
	if len(l.rooms[r]) == 0 {
		delete(l.rooms, r)
	}
}
