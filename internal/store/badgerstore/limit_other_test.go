//go:build !unix

package badgerstore

import "errors"

func limitFiles() error { return errors.New("this system has no limit on the length of files") }
