package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
)

// ID is the SHA-256 of an entry's bytes.
type ID [32]byte

// Errors of reading and making entries. Each is wrapped with the fact and what to do.
var (
	ErrMalformed = errors.New("entry is malformed")
	ErrTooLarge  = errors.New("entry is too large")
)

// Sum returns the id of an entry's bytes.
func Sum(b []byte) ID { return sha256.Sum256(b) }

// ParseID reads 64 lower-case hex digits.
func ParseID(s string) (ID, error) {
	var id ID
	if len(s) != 64 {
		return id, fmt.Errorf("%w: an id has 64 hex digits, %q has %d", ErrMalformed, s, len(s))
	}
	for i := 0; i < len(s); i++ {
		if c := s[i]; !(c >= '0' && c <= '9' || c >= 'a' && c <= 'f') {
			return id, fmt.Errorf("%w: id %q holds something other than 0–9 a–f", ErrMalformed, s)
		}
	}
	if _, err := hex.Decode(id[:], []byte(s)); err != nil {
		return id, fmt.Errorf("%w: %v", ErrMalformed, err)
	}
	return id, nil
}

// String returns the id as 64 hex digits.
func (id ID) String() string { return hex.EncodeToString(id[:]) }

// Short returns the first eight digits, for messages.
func (id ID) Short() string { return hex.EncodeToString(id[:4]) }

// IsZero reports whether the id is unset.
func (id ID) IsZero() bool { return id == ID{} }

// Compare orders ids by their bytes.
func (id ID) Compare(other ID) int { return bytes.Compare(id[:], other[:]) }

// MarshalText writes the id as hex; the zero id as nothing.
func (id ID) MarshalText() ([]byte, error) {
	if id.IsZero() {
		return nil, nil
	}
	return hex.AppendEncode(nil, id[:]), nil
}

// UnmarshalText reads what MarshalText wrote.
func (id *ID) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*id = ID{}
		return nil
	}
	v, err := ParseID(string(b))
	if err != nil {
		return err
	}
	*id = v
	return nil
}
