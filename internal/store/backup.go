package store

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"hash"
	"io"
	"slices"
)

// The backup stream, the same for every engine. All numbers are unsigned varints, all strings and bytes have their length before them.
//
//	"runtrue backup 1\n"
//	S  server id
//	M  key, value                                                  once for each row
//	J  job, N, hash                                                head of the job that the entries up to the next J belong to
//	E  flags, id, received ms, person, device, session, bytes      in order of arrival; flag 1: withheld
//	Z  SHA-256 of everything before this letter                    the end; nothing may follow
const backupMagic = "runtrue backup 1\n"

// Backup writes everything s holds to w and returns the heads up to which it did: the entries of each job up to its head as it stood when
// Backup began, so what arrives meanwhile is left to the next one. Rows of the side tables are those of about the same moment. Every
// entry is hashed on the way; a damaged one ends the backup with its EntryError, since a backup that carries damage on is none. What w
// received counts only if the error is nil; it is for the caller to sync it before he calls the heads backed up.
func Backup(ctx context.Context, s Store, w io.Writer) ([]Head, error) {
	heads, err := s.Jobs(ctx)
	if err != nil {
		return nil, err
	}
	rows, err := s.ListMeta(ctx, "")
	if err != nil {
		return nil, err
	}
	b := &backupWriter{w: bufio.NewWriterSize(w, 1<<16), sum: sha256.New()}
	b.raw([]byte(backupMagic))
	b.tag('S')
	b.bytes([]byte(s.ServerID()))
	for _, r := range rows {
		b.tag('M')
		b.bytes([]byte(r.Key))
		b.bytes(r.Value)
	}
	for _, h := range heads {
		b.tag('J')
		b.bytes([]byte(h.Job))
		b.number(h.N)
		b.bytes(h.Hash[:])
		for n := uint64(0); n < h.N && b.err == nil; {
			run, err := s.Since(ctx, h.Job, n, int(min(page, h.N-n)))
			if err != nil {
				return nil, fmt.Errorf("backup of job %q after arrival %d: %w", h.Job, n, err)
			}
			if len(run) == 0 {
				return nil, &EntryError{Kind: ErrCorrupt, Job: h.Job, N: n + 1, Detail: fmt.Sprintf("the job ends here, its head says %d", h.N)}
			}
			for i := range run {
				b.entry(&run[i])
			}
			n += uint64(len(run))
		}
	}
	sum := b.sum.Sum(nil)
	b.tag('Z')
	b.raw(sum)
	if b.err == nil {
		b.err = b.w.Flush()
	}
	if b.err != nil {
		return nil, fmt.Errorf("writing the backup: %w", b.err)
	}
	return heads, nil
}

type backupWriter struct {
	w   *bufio.Writer
	sum hash.Hash
	err error // the first; nothing is written after it
}

func (b *backupWriter) raw(p []byte) {
	if b.err == nil {
		b.sum.Write(p) // never fails, by its documentation
		_, b.err = b.w.Write(p)
	}
}

func (b *backupWriter) tag(t byte) { b.raw([]byte{t}) }

func (b *backupWriter) number(n uint64) { b.raw(binary.AppendUvarint(nil, n)) }

func (b *backupWriter) bytes(p []byte) {
	b.number(uint64(len(p)))
	b.raw(p)
}

func (b *backupWriter) entry(s *Stored) {
	var flags uint64
	if s.Withheld {
		flags = 1
	}
	b.tag('E')
	b.number(flags)
	b.bytes(s.ID[:])
	b.number(uint64(s.ReceivedMS))
	b.bytes([]byte(s.Person))
	b.bytes([]byte(s.Device))
	b.bytes([]byte(s.Session))
	b.bytes(s.Bytes)
}

// Restore reads a backup into the store that create returns for the server id in it, and returns the heads restored. The new store must
// be empty, else ErrBackup. It may be made with the same server id (the machine is replaced) or another one (a copy that goes its own way).
// Numbers and running hashes come out as they were, and are compared. On an error the new store holds a part only and must be thrown away.
// Restore leaves it open in every case; it belongs to create's caller.
func Restore(ctx context.Context, r io.Reader, create func(serverID string) (Store, error)) ([]Head, error) {
	b := &backupReader{r: bufio.NewReaderSize(r, 1<<16), sum: sha256.New()}
	if got := b.raw(len(backupMagic)); b.err == nil && string(got) != backupMagic {
		return nil, fmt.Errorf("%w: it begins with %q, not %q", ErrBackup, got, backupMagic)
	}
	b.expect('S')
	serverID := string(b.bytes(MaxNameBytes))
	if b.err != nil {
		return nil, b.broken()
	}
	dst, err := create(serverID)
	if err != nil {
		return nil, err
	}
	before, err := dst.Jobs(ctx)
	if err != nil {
		return nil, err
	}
	if len(before) > 0 {
		return nil, fmt.Errorf("%w: the store to restore into holds %d jobs already; restore into an empty one", ErrBackup, len(before))
	}

	into := &restoring{ctx: ctx, dst: dst}
	for {
		sum := b.sum.Sum(nil)
		switch tag := b.tag(); {
		case b.err != nil:
			return nil, b.broken()
		case tag == 'M':
			into.row(Meta{Key: string(b.bytes(MaxMetaKeyBytes)), Value: b.bytes(MaxMetaBytes)})
		case tag == 'J':
			h := Head{Job: string(b.bytes(MaxNameBytes)), N: b.number()}
			copy(h.Hash[:], b.exactly(32))
			into.job(h)
		case tag == 'E':
			into.entry(b.entry())
		case tag == 'Z':
			if want := b.raw(32); b.err == nil && !bytes.Equal(want, sum) {
				return nil, fmt.Errorf("%w: its sum is %x, what was read has %x; take another copy of it", ErrBackup, want, sum)
			}
			if b.err != nil {
				return nil, b.broken()
			}
			if _, err := b.r.ReadByte(); err != io.EOF {
				return nil, fmt.Errorf("%w: something follows its end (%v)", ErrBackup, err)
			}
			return into.finish()
		default:
			return nil, fmt.Errorf("%w: unknown part %q", ErrBackup, tag)
		}
		if b.err != nil {
			return nil, b.broken()
		}
		if into.err != nil {
			return nil, into.err
		}
	}
}

type restoring struct {
	ctx   context.Context
	dst   Store
	heads []Head
	batch []Incoming
	size  int
	rows  []Meta
	err   error
}

func (r *restoring) row(m Meta) {
	r.rows = append(r.rows, m)
	r.size += len(m.Key) + len(m.Value)
	if len(r.rows) == MaxMetaRows || r.size > maxMetaBatchBytes-MaxMetaBytes-MaxMetaKeyBytes {
		r.flush()
	}
}

func (r *restoring) job(h Head) {
	r.flush()
	r.endJob()
	r.heads = append(r.heads, h)
}

func (r *restoring) entry(in Incoming) {
	if len(r.heads) == 0 {
		r.err = fmt.Errorf("%w: an entry before the first job", ErrBackup)
		return
	}
	in.Job = r.heads[len(r.heads)-1].Job
	r.batch = append(r.batch, in)
	if r.size += len(in.Bytes); len(r.batch) == page || r.size > 1<<20 {
		r.flush()
	}
}

func (r *restoring) flush() {
	if r.err == nil && len(r.rows) > 0 {
		r.err = r.dst.PutMeta(r.ctx, r.rows)
	}
	if r.err == nil && len(r.batch) > 0 {
		_, r.err = r.dst.Put(r.ctx, r.batch)
	}
	r.rows, r.batch, r.size = nil, nil, 0
}

// endJob compares the job just restored with the head that the backup gives for it.
func (r *restoring) endJob() {
	if r.err != nil || len(r.heads) == 0 {
		return
	}
	want := r.heads[len(r.heads)-1]
	got, ok, err := r.dst.At(r.ctx, want.Job, want.N)
	switch {
	case err != nil:
		r.err = err
	case !ok || got.Hash != want.Hash:
		r.err = fmt.Errorf("%w: job %q should end at arrival %d with hash %x; what was restored does not", ErrBackup, want.Job, want.N, want.Hash)
	}
}

func (r *restoring) finish() ([]Head, error) {
	r.flush()
	r.endJob()
	if r.err != nil {
		return nil, r.err
	}
	got, err := r.dst.Jobs(r.ctx)
	if err != nil {
		return nil, err
	}
	if !slices.Equal(got, r.heads) {
		return nil, fmt.Errorf("%w: %d jobs restored, %d announced, or their heads differ", ErrBackup, len(got), len(r.heads))
	}
	return got, nil
}

type backupReader struct {
	r   *bufio.Reader
	sum hash.Hash
	err error
}

func (b *backupReader) broken() error {
	if errors.Is(b.err, io.EOF) || errors.Is(b.err, io.ErrUnexpectedEOF) {
		return fmt.Errorf("%w: it is cut off; take another copy of it", ErrBackup)
	}
	return fmt.Errorf("reading the backup: %w", b.err)
}

// ReadByte serves binary.ReadUvarint.
func (b *backupReader) ReadByte() (byte, error) {
	c, err := b.r.ReadByte()
	if err == nil {
		b.sum.Write([]byte{c})
	}
	return c, err
}

func (b *backupReader) raw(n int) []byte {
	if b.err != nil {
		return nil
	}
	p := make([]byte, n)
	if _, b.err = io.ReadFull(b.r, p); b.err != nil {
		return nil
	}
	b.sum.Write(p)
	return p
}

func (b *backupReader) tag() byte {
	if p := b.raw(1); b.err == nil {
		return p[0]
	}
	return 0
}

func (b *backupReader) expect(t byte) {
	if got := b.tag(); b.err == nil && got != t {
		b.err = fmt.Errorf("%w: part %q where %q belongs", ErrBackup, got, t)
	}
}

func (b *backupReader) number() uint64 {
	if b.err != nil {
		return 0
	}
	n, err := binary.ReadUvarint(b)
	b.err = err
	return n
}

// bytes reads at most limit bytes, so that a damaged length cannot ask for the machine's memory.
func (b *backupReader) bytes(limit int) []byte {
	n := b.number()
	if b.err == nil && n > uint64(limit) {
		b.err = fmt.Errorf("%w: a part of %d bytes, at most %d", ErrBackup, n, limit)
	}
	if b.err != nil {
		return nil
	}
	return b.raw(int(n))
}

func (b *backupReader) exactly(n int) []byte {
	p := b.bytes(n)
	if b.err == nil && len(p) != n {
		b.err = fmt.Errorf("%w: a part of %d bytes where %d belong", ErrBackup, len(p), n)
	}
	return p
}

func (b *backupReader) entry() Incoming {
	var in Incoming
	in.Withheld = b.number()&1 == 1
	copy(in.ID[:], b.exactly(len(in.ID)))
	in.ReceivedMS = int64(b.number())
	in.Person = string(b.bytes(MaxNameBytes))
	in.Device = string(b.bytes(MaxNameBytes))
	in.Session = string(b.bytes(MaxNameBytes))
	in.Bytes = b.bytes(MaxEntryBytes)
	if in.Withheld {
		in.Bytes = nil
	}
	return in
}
