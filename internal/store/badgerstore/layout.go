package badgerstore

import (
	"encoding/binary"
	"errors"
	"fmt"

	"runtrue/internal/store"
)

// Keys. The first byte tells the kind of row; a job's name has its length before it (one byte, at most 128), numbers are big-endian so that
// they sort.
const (
	rowArrival = 'a' // job, n        → arrival and bytes
	rowPlace   = 'i' // id            → job, n
	rowHead    = 'h' // job           → n, hash
	rowMeta    = 'm' // key           → value
	rowCounts  = 'c' //               → number of heads, number of side-table rows
	rowServer  = 's' //               → server id
)

func appendJob(b []byte, job string) []byte {
	return append(append(b, byte(len(job))), job...)
}

func jobKey(kind byte, job string) []byte {
	return appendJob(append(make([]byte, 0, 2+len(job)+8), kind), job)
}

func arrivalKey(job string, n uint64) []byte {
	return binary.BigEndian.AppendUint64(jobKey(rowArrival, job), n)
}

func placeKey(id store.ID) []byte { return append([]byte{rowPlace}, id[:]...) }

func metaKey(key string) []byte { return append([]byte{rowMeta}, key...) }

type place struct {
	job string
	n   uint64
}

func (p place) encode() []byte {
	return binary.BigEndian.AppendUint64(appendJob(nil, p.job), p.n)
}

var errRow = errors.New("a row of the store is not as it was written")

func decodePlace(b []byte) (place, error) {
	if len(b) < 1 || len(b) != 1+int(b[0])+8 {
		return place{}, fmt.Errorf("%w: place of %d bytes", errRow, len(b))
	}
	end := 1 + int(b[0])
	return place{job: string(b[1:end]), n: binary.BigEndian.Uint64(b[end:])}, nil
}

// head is where a job's stream ends.
type head struct {
	n    uint64
	hash [32]byte
}

func (h head) encode() []byte {
	return append(binary.BigEndian.AppendUint64(nil, h.n), h.hash[:]...)
}

// decodeHead reads a head row; its key carries the job.
func decodeHead(key, value []byte) (string, head, error) {
	if len(key) < 2 || len(key) != 2+int(key[1]) || len(value) != 8+32 {
		return "", head{}, fmt.Errorf("%w: head with key %x and %d bytes", errRow, key, len(value))
	}
	h := head{n: binary.BigEndian.Uint64(value)}
	copy(h.hash[:], value[8:])
	return string(key[2:]), h, nil
}

func encodeCounts(heads, rows int) []byte {
	return binary.BigEndian.AppendUint64(binary.BigEndian.AppendUint64(nil, uint64(heads)), uint64(rows))
}

const flagWithheld = 1

// encodeArrival writes what the key does not say: flags, id, hash, received, three names with a length byte each, then the entry's bytes.
func encodeArrival(a *store.Arrival, entry []byte) []byte {
	b := make([]byte, 0, 1+32+32+8+3+len(a.Person)+len(a.Device)+len(a.Session)+len(entry))
	var flags byte
	if a.Withheld {
		flags = flagWithheld
	}
	b = append(b, flags)
	b = append(b, a.ID[:]...)
	b = append(b, a.Hash[:]...)
	b = binary.BigEndian.AppendUint64(b, uint64(a.ReceivedMS))
	for _, name := range [...]string{a.Person, a.Device, a.Session} {
		b = append(append(b, byte(len(name))), name...)
	}
	return append(b, entry...)
}

// decodeArrival copies everything out of b, which may be Badger's own memory.
func decodeArrival(job string, n uint64, b []byte) (store.Stored, error) {
	s := store.Stored{Arrival: store.Arrival{Job: job, N: n}}
	broken := fmt.Errorf("%w: arrival %d of job %q has %d bytes", errRow, n, job, len(b))
	if len(b) < 1+32+32+8 {
		return s, broken
	}
	s.Withheld = b[0]&flagWithheld != 0
	copy(s.ID[:], b[1:])
	copy(s.Hash[:], b[33:])
	s.ReceivedMS = int64(binary.BigEndian.Uint64(b[65:]))
	b = b[73:]
	for _, name := range [...]*string{&s.Person, &s.Device, &s.Session} {
		if len(b) < 1 || len(b) < 1+int(b[0]) {
			return s, broken
		}
		*name = string(b[1 : 1+int(b[0])])
		b = b[1+int(b[0]):]
	}
	if !s.Withheld {
		s.Bytes = append(make([]byte, 0, len(b)), b...)
	}
	return s, nil
}
