package badgerstore

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"runtrue/internal/store"
	"runtrue/internal/store/photos"
	"runtrue/internal/store/storetest"
)

// The tests of what a dying process leaves run this test binary again as another program. Which one is said by this variable.
const roleVariable = "RUNTRUE_STORE_TEST_ROLE"

func TestMain(m *testing.M) {
	if role := os.Getenv(roleVariable); role != "" {
		program, ok := programs[role]
		if !ok {
			fmt.Fprintf(os.Stderr, "no program %q\n", role)
			os.Exit(2)
		}
		if err := program(strings.Fields(os.Getenv(roleVariable + "_ARGS"))); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// programs by role; those that need a system's mounts and limits are added in files for that system.
var programs = map[string]func(args []string) error{"push": pusher}

// again is a command that runs this binary in a role.
func again(role string, args ...any) *exec.Cmd {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), roleVariable+"="+role, roleVariable+"_ARGS="+strings.TrimSpace(fmt.Sprintln(args...)))
	return cmd
}

// work is batch i of writer w in round: what the pusher puts and what its parent looks for. Every eleventh needs several transactions.
func work(round, w, i int) []store.Incoming {
	job := fmt.Sprintf("J%d", w%3)
	first := round*10_000_000 + w*100_000 + i*100
	if i%11 == 5 {
		return storetest.Some(job, first, 40, 60_000)
	}
	return storetest.Some(job, first, 1+(i*7+w)%5, 800)
}

func workPhoto(round, w, i int) (store.ID, []byte) {
	b := bytes.Repeat([]byte(fmt.Sprintf("photo %d %d %d;", round, w, i)), 2000)
	return sha256.Sum256(b), b
}

// pusher opens folder, puts work with several writers until it dies or cannot go on, and writes a line for each answer:
// "ack writer batch", "photo writer batch", or "end reason".
func pusher(args []string) error {
	var round, writers int
	var reserve uint64
	var mode string
	if _, err := fmt.Sscan(strings.Join(args[1:], " "), &round, &writers, &reserve, &mode); err != nil {
		return err
	}
	set := small("")
	set.Reserve = reserve
	set.unsynced = mode == "unsynced"
	s, err := open(filepath.Join(args[0], "store"), set)
	if err != nil {
		return err
	}
	album, err := photos.Open(filepath.Join(args[0], "photos"), photos.Options{Reserve: reserve})
	if err != nil {
		return err
	}
	if mode == "limited" {
		if err := limitFiles(); err != nil {
			return err
		}
	}
	fmt.Println("begun")
	var running sync.WaitGroup
	ends := make(chan error, writers)
	for w := range writers {
		running.Go(func() {
			for i := 0; ; i++ {
				if _, err := s.Put(context.Background(), work(round, w, i)); err != nil {
					ends <- err
					return
				}
				fmt.Printf("ack %d %d\n", w, i) // one write: whole or not at all
				if mode == "synced" && i%5 == 2 {
					id, b := workPhoto(round, w, i)
					if err := album.Put(id, bytes.NewReader(b)); err != nil {
						ends <- err
						return
					}
					fmt.Printf("photo %d %d\n", w, i)
				}
			}
		})
	}
	err = <-ends
	running.Wait()
	// A store that failed must refuse everything from now on, also reads.
	if errors.Is(err, store.ErrFailed) {
		if _, err := s.Since(context.Background(), "J0", 0, 1); !errors.Is(err, store.ErrFailed) {
			return fmt.Errorf("Since after a failed write: %v", err)
		}
	}
	fmt.Printf("end failed=%v full=%v %q\n", errors.Is(err, store.ErrFailed), errors.Is(err, store.ErrFull), err.Error())
	return nil
}

// answers are what a pusher said before it died.
type answers struct {
	round  int
	acks   [][2]int // writer, batch
	photos [][2]int
	end    string
	whole  bool // everything it said was read
}

// follow reads a pusher's lines until it ends, calling each with the answers so far after every line. A line cut off by death does not count.
func (a *answers) follow(from io.Reader, each func()) error {
	lines := bufio.NewReader(from)
	for {
		line, err := lines.ReadString('\n')
		if err == io.EOF {
			a.whole = true
			return nil
		}
		if err != nil {
			return err
		}
		word := strings.Fields(line)
		switch word[0] {
		case "begun":
		case "end":
			a.end = strings.TrimSpace(line)
		case "ack", "photo":
			w, err1 := strconv.Atoi(word[1])
			i, err2 := strconv.Atoi(word[2])
			if err := errors.Join(err1, err2); err != nil {
				return err
			}
			if word[0] == "ack" {
				a.acks = append(a.acks, [2]int{w, i})
			} else {
				a.photos = append(a.photos, [2]int{w, i})
			}
		default:
			return fmt.Errorf("the pusher said %q", line)
		}
		each()
	}
}

// missing opens what a pusher left in folder and counts acknowledged batches and photos that are not there whole. An error is any
// other fault: gaps, hashes, a batch that is there in part.
func (a *answers) missing(folder string, set settings) (int, error) {
	ctx := context.Background()
	s, err := open(filepath.Join(folder, "store"), set)
	if err != nil {
		return 0, err
	}
	defer s.Close()
	if _, faults, err := store.Check(ctx, s); err != nil || len(faults) > 0 {
		return 0, fmt.Errorf("check: %v, faults %v", err, faults)
	}
	missing := 0
	next := map[int]int{} // the batch of a writer that was not answered any more
	holds := func(w, i int) (bool, error) {
		have, err := s.Have(ctx, storetest.IDs(work(a.round, w, i)))
		if err != nil {
			return false, err
		}
		for k := range have {
			if have[k] != have[0] {
				return false, fmt.Errorf("batch %d of writer %d is there in part: %v", i, w, have)
			}
		}
		return have[0], nil
	}
	for _, ack := range a.acks {
		held, err := holds(ack[0], ack[1])
		if err != nil {
			return 0, err
		}
		if !held {
			missing++
		}
		next[ack[0]] = max(next[ack[0]], ack[1]+1)
	}
	for w, i := range next {
		if _, err := holds(w, i); err != nil {
			return 0, err
		}
		if held, err := holds(w, i+1); err != nil || held && a.whole {
			return 0, fmt.Errorf("batch %d of writer %d is there, %d was never answered: %v", i+1, w, i, err)
		}
	}
	if len(a.photos) > 0 {
		album, err := photos.Open(filepath.Join(folder, "photos"), photos.Options{Reserve: 1})
		if err != nil {
			return 0, err
		}
		for _, p := range a.photos {
			id, _ := workPhoto(a.round, p[0], p[1])
			switch err := album.Check(id); {
			case errors.Is(err, photos.ErrAbsent):
				missing++
			case err != nil:
				return 0, err
			}
		}
	}
	return missing, nil
}
