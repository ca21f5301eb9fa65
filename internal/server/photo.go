package server

import (
	"bytes"
	"crypto/sha256"
	"encoding"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"sync"

	"runtrue/internal/store"
	"runtrue/internal/store/photos"
)

// maxComing is how many photos may be on their way in at once with their running hash in memory.
const maxComing = 1024

// coming knows the running SHA-256 of photos that are being sent in parts. The wire does not announce how long a photo is, so a part is the last one if the bytes so far hash to the photo's name.
type coming struct {
	mu   sync.Mutex
	sums map[store.ID]sumSoFar
}

type sumSoFar struct {
	size  int64
	state []byte // of SHA-256, as its MarshalBinary gives it
}

func newComing() *coming { return &coming{sums: map[store.ID]sumSoFar{}} }

// with returns the running hash after part, which begins at offset; known is false where the bytes before it came to an earlier process.
func (c *coming) with(id store.ID, offset int64, part []byte) (sum [32]byte, next sumSoFar, known bool, err error) {
	h := sha256.New()
	if offset > 0 {
		c.mu.Lock()
		before, ok := c.sums[id]
		c.mu.Unlock()
		if !ok || before.size != offset {
			return sum, next, false, nil
		}
		if err := h.(encoding.BinaryUnmarshaler).UnmarshalBinary(before.state); err != nil {
			return sum, next, false, fmt.Errorf("running hash of photo %s: %w", id, err)
		}
	}
	h.Write(part) // a hash never fails to be written
	state, err := h.(encoding.BinaryMarshaler).MarshalBinary()
	if err != nil {
		return sum, next, false, fmt.Errorf("running hash of photo %s: %w", id, err)
	}
	return [32]byte(h.Sum(nil)), sumSoFar{size: offset + int64(len(part)), state: state}, true, nil
}

func (c *coming) keep(id store.ID, s sumSoFar) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if len(c.sums) >= maxComing {
		clear(c.sums) // those photos are sent again from their beginning
	}
	c.sums[id] = s
}

func (c *coming) forget(id store.ID) {
	c.mu.Lock()
	defer c.mu.Unlock()
	delete(c.sums, id)
}

func photoID(r *request) (store.ID, error) {
	id, err := store.ParseID(r.params["hash"])
	if err != nil {
		return id, faultf(codeMalformed, "a photo is named by the 64 hexadecimal digits of its SHA-256, in lower case")
	}
	return id, nil
}

// putPhoto takes a part of a photo that begins at ?offset=N bytes; 0 if it is left out. The part is on disk when it is answered.
func (s *Server) putPhoto(r *request) (answer, error) {
	id, err := photoID(r)
	if err != nil {
		return answer{}, err
	}
	offset := int64(0)
	if text, ok := r.query["offset"]; ok {
		if offset, err = strconv.ParseInt(text, 10, 64); err != nil || offset < 0 {
			return answer{}, faultf(codeMalformed, "offset %.30q is not a number of bytes from 0 up", text)
		}
	}
	sum, next, known, err := s.coming.with(id, offset, r.body)
	if err != nil {
		return answer{}, err
	}
	// If the beginning came to an earlier process, the part is tried as the last one: if it is not, the photo's hash is wrong, all parts are dropped and the device begins again.
	total := int64(photos.DefaultLimit)
	if !known || store.ID(sum) == id {
		total = offset + int64(len(r.body))
	}
	have, complete, err := s.cfg.Photos.Append(id, offset, total, bytes.NewReader(r.body))
	switch {
	case err != nil || complete:
		if !errors.Is(err, photos.ErrBusy) && !errors.Is(err, photos.ErrOffset) {
			s.coming.forget(id)
		}
	case known && have == next.size:
		s.coming.keep(id, next)
	}
	if err != nil {
		return answer{}, err
	}
	return answer{value: map[string]any{"size": have, "complete": complete}}, nil
}

// headPhoto says how much of a photo is here; nothing is 0, not an error.
func (s *Server) headPhoto(r *request) (answer, error) {
	id, err := photoID(r)
	if err != nil {
		return answer{}, err
	}
	size, complete, err := s.cfg.Photos.Have(id)
	if err != nil {
		return answer{}, err
	}
	return answer{header: [][2]string{{"X-Runtrue-Size", strconv.FormatInt(size, 10)}, {"X-Runtrue-Complete", strconv.FormatBool(complete)}}}, nil
}

// shown are the kinds of pictures that a browser may show; whatever else is behind a photo's hash is handed over as bytes to save.
var shown = map[string]bool{"image/jpeg": true, "image/png": true, "image/webp": true}

func (s *Server) getPhoto(r *request) (answer, error) {
	id, err := photoID(r)
	if err != nil {
		return answer{}, err
	}
	f, size, err := s.cfg.Photos.Get(id)
	if err != nil {
		return answer{}, err
	}
	body, err := io.ReadAll(f)
	if err := errors.Join(err, f.Close()); err != nil {
		return answer{}, fmt.Errorf("reading photo %s: %w", id, err)
	}
	if int64(len(body)) != size || sha256.Sum256(body) != id {
		return answer{}, &fault{code: codeDamaged, message: "the photo was found damaged on the server and is not passed on; a device that still has it can send it again", cause: fmt.Errorf("photo %s: %d bytes do not hash to its name", id, len(body))}
	}
	kind := http.DetectContentType(body)
	if !shown[kind] {
		kind = "application/octet-stream"
	}
	return answer{body: body, header: [][2]string{{"Content-Type", kind}, {"Cache-Control", "private, max-age=31536000, immutable"}, {"Content-Security-Policy", "default-src 'none'; sandbox"}}}, nil
}
