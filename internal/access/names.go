package access

import (
	"fmt"
	"strings"
)

// MaxName is the greatest length of a person's, device's or job's id.
const MaxName = 64

// CheckName accepts 1 to MaxName characters out of a–z, 0–9 and "-": the form of person, device and job ids. The error wraps ErrName.
func CheckName(what, s string) error {
	if s == "" || len(s) > MaxName {
		return fmt.Errorf("%w: %s has %d characters; write 1 to %d", ErrName, what, len(s), MaxName)
	}
	for i := 0; i < len(s); i++ {
		if c := s[i]; !(c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '-') {
			return fmt.Errorf("%w: %s %q; write a to z, 0 to 9 and hyphens", ErrName, what, s)
		}
	}
	return nil
}

// deviceID makes an id from what the person called the device, so that a log can be read, and from 40 random bits, so that two tablets of
// one name differ.
func deviceID(name string, random []byte) string {
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
		if b.Len() >= 40 {
			break
		}
	}
	stem := strings.Trim(b.String(), "-")
	if stem == "" {
		stem = "device"
	}
	return fmt.Sprintf("%s-%x", stem, random)
}

// codeLetters are the symbols of a code: digits and capitals without I, L, O and U, which are misread (Crockford's base 32, from memory).
const codeLetters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// spell writes 12 symbols of five bits each, in groups of four: 60 bits.
func spell(random [12]byte) string {
	var b strings.Builder
	for i, r := range random {
		if i > 0 && i%4 == 0 {
			b.WriteByte('-')
		}
		b.WriteByte(codeLetters[r&31])
	}
	return b.String()
}

// plainCode undoes what hands and eyes do to a code: lower case, hyphens, spaces, O for 0, I and L for 1.
func plainCode(s string) (string, error) {
	var b strings.Builder
	for _, r := range strings.ToUpper(s) {
		switch {
		case r == '-' || r == ' ':
			continue
		case r == 'O':
			r = '0'
		case r == 'I' || r == 'L':
			r = '1'
		}
		if !(r >= '0' && r <= '9' || r >= 'A' && r <= 'Z') {
			return "", fmt.Errorf("%w: a code has letters and digits only; type it as it is shown", ErrMalformed)
		}
		b.WriteRune(r)
	}
	if b.Len() < 4 || b.Len() > 64 {
		return "", fmt.Errorf("%w: a code has 12 letters and digits, this one has %d; type it as it is shown", ErrMalformed, b.Len())
	}
	return b.String(), nil
}
