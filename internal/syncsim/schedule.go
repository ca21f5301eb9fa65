package syncsim

import (
	"container/heap"
	"iter"
	"sync/atomic"
	"time"
)

// Milliseconds.
const (
	second int64 = 1000
	minute       = 60 * second
	hour         = 60 * minute
	day          = 24 * hour
	year         = 365 * day
)

// schedule is simulated time: what is to happen, in order of time, and within one moment in the order in which it was asked for.
type schedule struct {
	ms    atomic.Int64 // since 1970 UTC; read by the server's goroutines too
	asked int64
	queue events
}

type event struct {
	at, order int64
	run       func()
}

type events []event

func (q events) Len() int { return len(q) }
func (q events) Less(i, k int) bool {
	return q[i].at < q[k].at || q[i].at == q[k].at && q[i].order < q[k].order
}
func (q events) Swap(i, k int) { q[i], q[k] = q[k], q[i] }
func (q *events) Push(e any)   { *q = append(*q, e.(event)) }
func (q *events) Pop() any {
	last := len(*q) - 1
	e := (*q)[last]
	*q = (*q)[:last]
	return e
}

func (s *schedule) now() int64      { return s.ms.Load() }
func (s *schedule) time() time.Time { return time.UnixMilli(s.now()) }

// after asks for something to happen in so many milliseconds.
func (s *schedule) after(ms int64, run func()) {
	s.asked++
	heap.Push(&s.queue, event{at: s.now() + max(0, ms), order: s.asked, run: run})
}

// runUntil lets everything happen that is due before the end.
func (s *schedule) runUntil(end int64, stop func() bool) {
	for len(s.queue) > 0 && s.queue[0].at < end && !stop() {
		e := heap.Pop(&s.queue).(event)
		s.ms.Store(max(s.now(), e.at))
		e.run()
	}
	s.ms.Store(max(s.now(), end))
}

// thread is one page at work. It runs until it pauses; no two run at once.
type thread struct {
	stop func()
	gone bool
}

// ended unwinds a thread that was stopped from outside.
type ended struct{}

// start runs the body as a thread. Its pauses are those of simulated time.
func (s *schedule) start(body func(pause func(ms int64))) *thread {
	next, stop := iter.Pull(func(yield func(int64) bool) {
		defer func() {
			if p := recover(); p != nil {
				if _, ok := p.(ended); !ok {
					panic(p)
				}
			}
		}()
		body(func(ms int64) {
			if !yield(ms) {
				panic(ended{})
			}
		})
	})
	t := &thread{}
	t.stop = func() {
		t.gone = true
		stop()
	}
	var step func()
	step = func() {
		if t.gone {
			return
		}
		ms, ok := next()
		if !ok {
			t.gone = true
			return
		}
		s.after(ms, step)
	}
	s.after(0, step)
	return t
}
