//go:build !linux && !darwin

package diskspace

import "math"

// Free cannot tell on this system and says that there is room; a full disk is then found out by the write that fails. The server is
// meant for Linux and macOS.
func Free(dir string) (uint64, error) { return math.MaxUint64, nil }
