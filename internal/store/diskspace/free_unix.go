//go:build linux || darwin

package diskspace

import (
	"fmt"
	"syscall"
)

// Free returns how many bytes an ordinary user may still write to the volume that holds dir.
func Free(dir string) (uint64, error) {
	var st syscall.Statfs_t
	if err := syscall.Statfs(dir, &st); err != nil {
		return 0, fmt.Errorf("room on the volume of %s: %w", dir, err)
	}
	return st.Bavail * uint64(st.Bsize), nil
}
