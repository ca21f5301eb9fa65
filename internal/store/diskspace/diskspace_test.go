package diskspace

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"syscall"
	"testing"
)

func TestFree(t *testing.T) {
	if free, err := Free(t.TempDir()); err != nil || free == 0 {
		t.Fatalf("Free of the temporary folder: %d bytes, %v", free, err)
	}
	if free, err := Free(filepath.Join(t.TempDir(), "absent")); err == nil {
		t.Fatalf("Free of a folder that is not there: %d bytes", free)
	}
}

func TestIsFull(t *testing.T) {
	for _, c := range []struct {
		err  error
		want bool
	}{
		{nil, false},
		{io.ErrUnexpectedEOF, false},
		{syscall.EIO, false},
		{syscall.ENOSPC, true},
		{fmt.Errorf("write: %w", syscall.EDQUOT), true},
		{fmt.Errorf("write: %v", syscall.EFBIG), true},
		{errors.New("while syncing: no space left on device"), true},
	} {
		if got := IsFull(c.err); got != c.want {
			t.Errorf("IsFull(%v) = %v, want %v", c.err, got, c.want)
		}
	}
}
