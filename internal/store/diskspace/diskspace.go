// Package diskspace tells how much room a volume has left, and which errors mean that there is none.
//
// It exists because the store's engine writes through memory maps: when such a write finds the disk full, the operating system does not
// return an error but kills the process (SIGBUS). So room is asked for before a write and a reserve is kept, instead of waiting for the error.
package diskspace

import (
	"errors"
	"strings"
	"syscall"
)

// full are the ways in which a system says that a file cannot grow: no room, the user's quota, the process's file size limit.
var full = []syscall.Errno{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG}

// IsFull reports whether err means that there is no room. Some libraries pass errors on as text only, so the text is searched too.
func IsFull(err error) bool {
	if err == nil {
		return false
	}
	for _, e := range full {
		if errors.Is(err, e) || strings.Contains(err.Error(), e.Error()) {
			return true
		}
	}
	return false
}
