package server

import (
	"bufio"
	"encoding/json"
	"fmt"
	"net"
	"sync"
	"time"
)

// maxListeners bounds the live channels that are open at once.
const maxListeners = 1024

// news passes on which jobs have new arrivals. It never waits for a listener: what a slow one has not read yet is kept as one number for each job.
type news struct {
	mu        sync.Mutex
	listeners map[*listener]struct{}
}

type listener struct {
	mu   sync.Mutex
	jobs map[string]uint64 // job → greatest number not told yet
	wake chan struct{}     // holds one token when jobs is not empty
}

func newNews() *news { return &news{listeners: map[*listener]struct{}{}} }

func (n *news) listen() (*listener, error) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if len(n.listeners) >= maxListeners {
		return nil, faultf(codeBusy, "%d devices listen already; go on without the live channel and ask from time to time", maxListeners)
	}
	l := &listener{jobs: map[string]uint64{}, wake: make(chan struct{}, 1)}
	n.listeners[l] = struct{}{}
	return l, nil
}

func (n *news) leave(l *listener) {
	n.mu.Lock()
	defer n.mu.Unlock()
	delete(n.listeners, l)
}

func (n *news) tell(job string, newest uint64) {
	n.mu.Lock()
	defer n.mu.Unlock()
	for l := range n.listeners {
		l.mu.Lock()
		l.jobs[job] = max(l.jobs[job], newest)
		l.mu.Unlock()
		select {
		case l.wake <- struct{}{}:
		default:
		}
	}
}

func (l *listener) take() map[string]uint64 {
	l.mu.Lock()
	defer l.mu.Unlock()
	out := l.jobs
	l.jobs = map[string]uint64{}
	return out
}

// live is a stream of server-sent events (the form is that of the HTML standard, "Server-sent events"). It ends with the access token that opened it, with the session, and when the server stops; the device then opens another.
func (s *Server) live(r *request) (answer, error) {
	l, err := s.news.listen()
	if err != nil {
		return answer{}, err
	}
	token, _ := bearer(r)
	return answer{header: [][2]string{{"Content-Type", "text/event-stream; charset=utf-8"}, {"X-Accel-Buffering", "no"}}, stream: func(w *bufio.Writer, conn net.Conn) {
		defer s.news.leave(l)
		beat := time.NewTicker(s.cfg.Beat)
		defer beat.Stop()
		say := func(format string, args ...any) bool {
			// An error here shows again in the flush.
			_ = conn.SetWriteDeadline(time.Now().Add(writeTimeout + s.cfg.Beat))
			fmt.Fprintf(w, format, args...)
			return w.Flush() == nil
		}
		if !say(": listening\n\n") {
			return
		}
		for {
			select {
			case <-s.stopping:
				return
			case <-beat.C:
				if _, err := s.desk.Check(token); err != nil || !say(": still here\n\n") {
					return
				}
			case <-l.wake:
				for job, n := range l.take() {
					data, err := json.Marshal(map[string]any{"job": job, "n": n})
					if err != nil || !say("event: news\ndata: %s\n\n", data) {
						return
					}
				}
			}
		}
	}}, nil
}
