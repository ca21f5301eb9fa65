package syncsim

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"time"

	"runtrue/internal/access"
	"runtrue/internal/record"
	"runtrue/internal/server"
	"runtrue/internal/store"
	"runtrue/internal/store/badgerstore"
	"runtrue/internal/store/photos"
)

// reserve is the room in bytes that a simulated server's store wants on its disk.
const reserve = 16 << 20

const serverID = "server-one"

// house is the machine under the bench with the server on it, and the cupboard with the backups.
type house struct {
	w       *world
	root    string
	folders int
	random  io.Reader // of the server: its key, tokens, codes

	up      bool
	store   *badgerstore.Store
	mortal  *mortal
	desk    *access.Desk
	srv     *server.Server
	serving chan error
	client  *http.Client
	addr    string

	left    string // the folder that a killed server left
	crowded bool   // many devices ask at once, so a killed server is buried when they are done
	backups []backup
}

// backup is one file in the cupboard.
type backup struct {
	bytes []byte
	ids   map[record.ID]bool
	// told: devices may have heard of it, and tidied.
	told bool
}

func newHouse(w *world, root string, seed uint64) *house {
	var key [32]byte
	random := rand.New(rand.NewPCG(seed, 0x5e7))
	for i := range key {
		key[i] = byte(random.Uint32())
	}
	return &house{w: w, root: root, random: rand.NewChaCha8(key)}
}

// open starts the server on a folder, which may be new. Whatever was confirmed to the one before must be there.
func (h *house) open(ctx context.Context, dir string) error {
	st, err := badgerstore.Open(dir, badgerstore.Options{ServerID: serverID, Reserve: reserve})
	if err != nil {
		return fmt.Errorf("opening the store: %w", err)
	}
	_, all, err := contents(ctx, st)
	if err != nil {
		return errors.Join(err, st.Close())
	}
	if err := h.w.opened(all); err != nil {
		return errors.Join(err, st.Close())
	}
	h.store = st
	h.mortal = &mortal{Store: st, house: h, dir: dir}
	if h.desk, err = access.Open(ctx, access.Config{Tables: h.mortal, ServerID: st.ServerID(), Now: h.w.time, Random: h.random}); err != nil {
		return errors.Join(err, st.Close())
	}
	folder, err := photos.Open(filepath.Join(h.root, "photos"), photos.Options{Reserve: reserve})
	if err != nil {
		return errors.Join(err, st.Close())
	}
	if h.srv, err = server.New(ctx, server.Config{Store: h.mortal, Photos: folder, Desk: h.desk, Now: h.w.time, Log: slog.New(slog.DiscardHandler)}); err != nil {
		return errors.Join(err, st.Close())
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return errors.Join(err, st.Close())
	}
	h.addr = ln.Addr().String()
	srv, serving := h.srv, make(chan error, 1)
	h.serving = serving
	go func() { serving <- srv.Serve(ln) }()
	h.client = &http.Client{Timeout: 2 * time.Minute, Transport: &http.Transport{DisableCompression: true, MaxIdleConnsPerHost: 256}}
	h.up = true
	return nil
}

// close stops the server. After a kill this only clears away what the test process still holds of it: the image was taken before.
func (h *house) close() error {
	if !h.up {
		return nil
	}
	h.up = false
	h.client.CloseIdleConnections()
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	defer cancel()
	err := h.srv.Shutdown(ctx)
	err = errors.Join(err, <-h.serving, h.store.Close())
	if err != nil {
		return fmt.Errorf("stopping the server: %w", err)
	}
	return nil
}

// bury clears a killed server away and opens the next one on what it left, after a while.
func (h *house) bury() error {
	m := h.mortal
	if m.fault != nil {
		return m.fault
	}
	if err := h.close(); err != nil {
		return err
	}
	h.w.count("server killed "+string(m.how), 1)
	h.w.count("pages torn", m.torn)
	h.w.trace("the server is killed %s", m.how)
	h.comeBack(m.image)
	return errors.Join(os.RemoveAll(m.dir), os.RemoveAll(m.image+".before"))
}

// comeBack opens the server after an outage of minutes, seldom hours.
func (h *house) comeBack(dir string) {
	h.left = dir
	outage := minute + h.w.random.Int64N(10*minute)
	if h.w.random.IntN(5) == 0 {
		outage = h.w.random.Int64N(8 * hour)
	}
	h.w.after(outage, func() {
		if h.up {
			return // somebody else has put it back meanwhile
		}
		h.w.must(h.reopen())
		h.w.trace("the server is back after %d s", outage/second)
	})
}

// reopen starts the server on what a killed one left.
func (h *house) reopen() error { return h.open(h.w.ctx, h.left) }

// restart stops the server as one should, and starts it again.
func (h *house) restart() error {
	dir := h.mortal.dir
	if err := h.close(); err != nil {
		return err
	}
	h.w.count("server stopped and started", 1)
	return h.open(h.w.ctx, dir)
}

// backUp writes a backup. The server tells devices of it only if it is still there to note it.
func (h *house) backUp(tell bool) error {
	var file bytes.Buffer
	heads, err := store.Backup(h.w.ctx, h.store, &file)
	if err != nil {
		return err
	}
	_, all, err := contents(h.w.ctx, h.store)
	if err != nil {
		return err
	}
	if tell {
		if err := server.MarkBackedUp(h.w.ctx, h.mortal, heads); err != nil {
			if !h.mortal.isKilled() {
				return err
			}
			// Killed while it noted the backup: whether devices will hear of it is not known, so it counts as told.
			h.w.must(h.bury())
		}
	}
	h.backups = append(h.backups, backup{bytes: file.Bytes(), ids: all, told: tell})
	h.w.count("backups", 1)
	h.w.trace("backup of %d entries, told %v", len(all), tell)
	return nil
}

// putBack gives the machine an empty disk and restores a backup on it. newest: the newest that devices may have heard of; else any.
func (h *house) putBack(newest bool) error {
	which := h.w.random.IntN(len(h.backups))
	if newest {
		which = len(h.backups) - 1
		for which > 0 && !h.backups[which].told {
			which--
		}
	}
	b := h.backups[which]
	old := h.mortal.dir
	if err := h.close(); err != nil {
		return err
	}
	dir := h.newFolder()
	if _, err := badgerstore.Restore(h.w.ctx, dir, bytes.NewReader(b.bytes), badgerstore.Options{Reserve: reserve}); err != nil {
		return err
	}
	h.w.putBack(b.ids)
	h.w.count("server put back to a backup", 1)
	h.w.trace("the server is put back to backup %d of %d, %d entries", which+1, len(h.backups), len(b.ids))
	if err := h.open(h.w.ctx, dir); err != nil {
		return err
	}
	return os.RemoveAll(old)
}

// errNoAnswer: the request or its answer did not come through.
var errNoAnswer = errors.New("no answer")

// reply is an answer as it came.
type reply struct {
	status int
	digest string
	body   []byte
}

// serve hands one request to the server.
func (h *house) serve(method, path, token, digest string, body []byte) (reply, error) {
	if !h.up {
		return reply{}, errNoAnswer
	}
	req, err := http.NewRequestWithContext(h.w.ctx, method, "http://"+h.addr+path, bytes.NewReader(body))
	if err != nil {
		return reply{}, err
	}
	if token != "" {
		req.Header.Set("Authorization", "Bearer "+token)
	}
	if digest != "" {
		req.Header.Set("Content-Digest", digest)
	}
	resp, err := h.client.Do(req)
	if err != nil {
		return reply{}, fmt.Errorf("the server is up and did not answer: %w", err)
	}
	defer resp.Body.Close()
	out, err := io.ReadAll(resp.Body)
	if err != nil {
		return reply{}, fmt.Errorf("the server is up and cut its answer off: %w", err)
	}
	if h.mortal.isKilled() && h.crowded {
		return reply{}, errNoAnswer
	}
	if h.mortal.isKilled() {
		return reply{}, errors.Join(errNoAnswer, h.bury())
	}
	return reply{resp.StatusCode, resp.Header.Get("Content-Digest"), out}, nil
}

// cut sends the head of a request and the first part of its body, and hangs up.
func (h *house) cut(method, path, token, digest string, body []byte, part int) error {
	if !h.up {
		return nil
	}
	conn, err := net.Dial("tcp", h.addr)
	if err != nil {
		return err
	}
	head := fmt.Sprintf("%s %s HTTP/1.1\r\nHost: %s\r\nAuthorization: Bearer %s\r\nContent-Digest: %s\r\nContent-Length: %d\r\n\r\n", method, path, h.addr, token, digest, len(body))
	_, err = conn.Write(slices.Concat([]byte(head), body[:part]))
	return errors.Join(err, conn.Close())
}
