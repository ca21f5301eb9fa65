//go:build unix

package badgerstore

import (
	"os/signal"
	"syscall"
)

// limitFiles forbids this process to make any file longer than 1 MiB from now on. Badger's next log file is longer, so beginning it fails
// in the middle of Badger, with an error and not with a signal.
func limitFiles() error {
	signal.Ignore(syscall.SIGXFSZ)
	return syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: 1 << 20, Max: 1 << 20})
}
