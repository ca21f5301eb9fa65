package server

import (
	"net"
	"sync"
)

// door is a listener that knows which connections have not said anything yet. Browsers open connections ahead of need, and the HTTP library takes one that never
// spoke for one in the middle of a request: without this a shutdown would wait for it until its read times out.
type door struct {
	net.Listener

	mu     sync.Mutex
	silent map[*visitor]struct{}
	shut   bool

	closing  sync.Once
	closeErr error
}

type visitor struct {
	net.Conn
	door  *door
	spoke sync.Once
}

func newDoor(ln net.Listener) *door { return &door{Listener: ln, silent: map[*visitor]struct{}{}} }

// Accept implements net.Listener.
func (d *door) Accept() (net.Conn, error) {
	c, err := d.Listener.Accept()
	if err != nil {
		return nil, err
	}
	v := &visitor{Conn: c, door: d}
	d.mu.Lock()
	d.silent[v] = struct{}{}
	shut := d.shut
	d.mu.Unlock()
	if shut {
		return v, v.Close()
	}
	return v, nil
}

// Close implements net.Listener; the second time it does nothing and answers as the first.
func (d *door) Close() error {
	d.closing.Do(func() { d.closeErr = d.Listener.Close() })
	return d.closeErr
}

// shutOut closes the listener, all connections that have not said anything, and those that come from now on. The library closes its listeners too, but only those that it serves already: a
// shutdown that comes in the moment of starting would pass it by.
func (d *door) shutOut() {
	// Whoever asked for the shutdown gets the same error from the library.
	_ = d.Close()
	d.mu.Lock()
	d.shut = true
	var all []*visitor
	for v := range d.silent {
		all = append(all, v)
	}
	d.mu.Unlock()
	for _, v := range all {
		// The library closes it again and is told of an error then; there is nobody to tell it to here.
		_ = v.Conn.Close()
	}
}

func (v *visitor) forget() {
	v.door.mu.Lock()
	defer v.door.mu.Unlock()
	delete(v.door.silent, v)
}

// Read implements net.Conn.
func (v *visitor) Read(b []byte) (int, error) {
	n, err := v.Conn.Read(b)
	if n > 0 {
		v.spoke.Do(v.forget)
	}
	return n, err
}

// Close implements net.Conn.
func (v *visitor) Close() error {
	v.spoke.Do(v.forget)
	return v.Conn.Close()
}
