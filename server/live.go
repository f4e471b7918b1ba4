package server

import (
	"bytes"
	"context"
	"fmt"
	"sync"
	"time"

	"github.com/gin-gonic/gin"
)

// together is how long changes are gathered before live pages are drawn
// again; quiet is after how long they are drawn again without a change, since
// what dries becomes ready by itself.
const (
	together = 200 * time.Millisecond
	quiet    = 30 * time.Second
)

// live draws the floor once for everybody who watches it.
type live struct {
	server *Server
	mu     sync.Mutex
	rooms  map[string]map[chan []byte]bool // watchers by the job they watch
	stop   chan struct{}
	once   sync.Once
}

func newLive(s *Server) *live {
	l := &live{server: s, rooms: map[string]map[chan []byte]bool{}, stop: make(chan struct{})}
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
	for {
		select {
		case <-l.stop:
			return
		case <-tick.C:
		case <-changed:
			select {
			case <-l.stop:
				return
			case <-time.After(together):
			}
		}
		l.draw()
	}
}

// draw sends each room its floor.
func (l *live) draw() {
	l.mu.Lock()
	var rooms []string
	for room := range l.rooms {
		rooms = append(rooms, room)
	}
	l.mu.Unlock()
	for _, room := range rooms {
		message, err := l.message(room)
		if err != nil {
			l.server.log.Error("draw the floor", "err", err)
			continue
		}
		l.mu.Lock()
		for watcher := range l.rooms[room] {
			select {
			case <-watcher: // an older picture nobody fetched
			default:
			}
			watcher <- message
		}
		l.mu.Unlock()
	}
}

// message is the floor as one event of the stream.
func (l *live) message(room string) ([]byte, error) {
	page, err := l.server.lookFloor(context.Background(), room)
	if err != nil {
		return nil, err
	}
	var html bytes.Buffer
	if err := l.server.pages["floor"].ExecuteTemplate(&html, "board", page); err != nil {
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
func (s *Server) floorStream(c *gin.Context) {
	watcher := s.live.watch(c.Query("job"))
	defer s.live.leave(c.Query("job"), watcher)
	h := c.Writer.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	first, err := s.live.message(c.Query("job"))
	if err != nil {
		s.fail(c, err)
		return
	}
	c.Writer.Write(first)
	c.Writer.Flush()
	for {
		select {
		case <-c.Request.Context().Done():
			return
		case <-s.live.stop:
			return
		case message := <-watcher:
			if _, err := c.Writer.Write(message); err != nil {
				return
			}
			c.Writer.Flush()
		}
	}
}

func (l *live) watch(room string) chan []byte {
	watcher := make(chan []byte, 1)
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.rooms[room] == nil {
		l.rooms[room] = map[chan []byte]bool{}
	}
	l.rooms[room][watcher] = true
	return watcher
}

func (l *live) leave(room string, watcher chan []byte) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.rooms[room], watcher)
	if len(l.rooms[room]) == 0 {
		delete(l.rooms, room)
	}
}
