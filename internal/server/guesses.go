package server

import (
	"sync"
	"time"
)

// Failures that one network address may make at a stretch, and how fast they are forgiven. A code has 60 bits: at ten guesses a minute there is nothing to find.
const (
	guessBurst   = 10
	guessForgive = 6 * time.Second // for one failure
	maxGuessers  = 4096
)

// guesses counts failed attempts at codes and refresh tokens by network address. Successes cost nothing, so that a hundred devices behind one address can come back at once.
type guesses struct {
	now func() time.Time

	mu    sync.Mutex
	until map[string]time.Time // when the last failure of an address will have been forgiven
}

func (g *guesses) mayTry(addr string) error {
	g.mu.Lock()
	defer g.mu.Unlock()
	if free := g.now().Add((guessBurst - 1) * guessForgive); g.until[addr].After(free) {
		return faultf(codeSlowDown, "too many failed attempts from this address; wait %d seconds and try again", int(g.until[addr].Sub(free)/time.Second)+1)
	}
	return nil
}

func (g *guesses) failed(addr string) {
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.now()
	if len(g.until) >= maxGuessers {
		for a, t := range g.until {
			if t.Before(now) {
				delete(g.until, a)
			}
		}
		if len(g.until) >= maxGuessers {
			clear(g.until) // an attack from thousands of addresses at once; forgetting is better than filling the memory
		}
	}
	t := g.until[addr]
	if t.Before(now) {
		t = now
	}
	g.until[addr] = t.Add(guessForgive)
}
