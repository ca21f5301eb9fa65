package badgerstore

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"runtrue/internal/store"
	"runtrue/internal/store/diskspace"
)

// The tests in this file make small volumes of their own, in a child with its own mount table, so that nothing stays mounted whatever
// happens. Where the system does not allow that (no root, no user namespaces), they say so and test what can be tested without.

func init() {
	programs["powercut"] = powerCuts
	programs["full"] = fullVolume
}

// apart runs a role with mounts of its own and returns its lines. ok = false: the system does not allow the mounts it needs.
func apart(t *testing.T, role string, args ...any) (lines []string, ok bool) {
	t.Helper()
	cmd := again(role, args...)
	if os.Geteuid() == 0 {
		cmd.SysProcAttr = &syscall.SysProcAttr{Unshareflags: syscall.CLONE_NEWNS}
	} else {
		cmd.SysProcAttr = &syscall.SysProcAttr{
			Cloneflags:  syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
			UidMappings: []syscall.SysProcIDMap{{HostID: os.Geteuid(), Size: 1}},
			GidMappings: []syscall.SysProcIDMap{{HostID: os.Getegid(), Size: 1}},
		}
	}
	var said, complained bytes.Buffer
	cmd.Stdout, cmd.Stderr = &said, &complained
	err := cmd.Start()
	if errors.Is(err, syscall.EPERM) {
		t.Logf("no mounts here: %v", err)
		return nil, false
	}
	if err == nil {
		err = cmd.Wait()
	}
	for line := range strings.Lines(said.String()) {
		line = strings.TrimSpace(line)
		t.Log(line)
		if strings.HasPrefix(line, "no mounts here: ") {
			return nil, false
		}
		lines = append(lines, line)
	}
	if err != nil {
		t.Fatalf("%s: %v\n%s", role, err, complained.String())
	}
	return lines, true
}

func run(name string, args ...string) error {
	if text, err := exec.Command(name, args...).CombinedOutput(); err != nil {
		return fmt.Errorf("%s %s: %w: %s", name, strings.Join(args, " "), err, text)
	}
	return nil
}

// TestPowerCut takes images of a disk at the moment of an answer. The store is on an ext4 volume inside a file: that file holds what the file
// system has given to its disk, and not what the system's cache still keeps back, so a copy of it is what a power cut would have left. Every
// copy must hold all that was answered. The same with syncing switched off must lose some, or the test would show nothing.
func TestPowerCut(t *testing.T) {
	for _, c := range []struct {
		mode string
		cuts int
	}{{"synced", 8}, {"unsynced", 2}} {
		lines, ok := apart(t, "powercut", t.TempDir(), c.mode, c.cuts)
		if !ok {
			t.Log("the images of a disk need root; TestAnswerAfterSync and TestTornPages stand for this test here")
			return
		}
		var acked, missing int
		for _, line := range lines {
			var cut, a, m int
			if n, err := fmt.Sscanf(line, "cut %d: %d answered, %d missing", &cut, &a, &m); n == 3 && err == nil {
				acked, missing = acked+a, missing+m
			}
		}
		if acked == 0 {
			t.Fatalf("%s: nothing was answered: %q", c.mode, lines)
		}
		if c.mode == "synced" && missing > 0 {
			t.Fatalf("%d of %d answered batches and photos were not on the disk when they were answered", missing, acked)
		}
		if c.mode == "unsynced" && missing == 0 {
			t.Fatalf("without syncing, all of %d answered batches were on the disk: this test cannot see a missing sync", acked)
		}
	}
}

// powerCuts: folder to work in, mode, number of cuts.
func powerCuts(args []string) error {
	folder, mode := args[0], args[1]
	var cuts int
	if _, err := fmt.Sscan(args[2], &cuts); err != nil {
		return err
	}
	disk, copied := filepath.Join(folder, "disk"), filepath.Join(folder, "copy")
	live, after := filepath.Join(folder, "live"), filepath.Join(folder, "after")
	for _, dir := range []string{live, after} {
		if err := os.Mkdir(dir, 0o700); err != nil {
			return err
		}
	}
	const diskSize = 128 << 20
	if err := errors.Join(os.WriteFile(disk, nil, 0o600), os.Truncate(disk, diskSize)); err != nil {
		return err
	}
	if err := run("mkfs.ext4", "-q", "-F", "-J", "size=8", disk); err != nil {
		fmt.Println("no mounts here:", err)
		return nil
	}
	if err := run("mount", "-o", "loop", disk, live); err != nil {
		fmt.Println("no mounts here:", err)
		return nil
	}
	defer run("umount", live) // the mount goes with this process anyhow

	const seed = 11
	fmt.Println("seed", seed)
	random := rand.New(rand.NewPCG(seed, uint64(len(mode))))
	cmd := again("push", live, 0, 3, 1<<20, mode)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	said := answers{}
	lines, next, cut := 0, 3+random.IntN(10), 0
	var fault error
	err = said.follow(out, func() {
		if lines++; lines != next || fault != nil || cut == cuts {
			return
		}
		cut++
		next = lines + 1 + random.IntN(25)
		fault = cmd.Process.Signal(syscall.SIGSTOP)
		if fault == nil {
			fault = cutNow(&said, cut, mode, disk, copied, after)
		}
		if cut == cuts || fault != nil {
			fault = errors.Join(fault, cmd.Process.Kill())
		}
		fault = errors.Join(fault, cmd.Process.Signal(syscall.SIGCONT))
	})
	waited := cmd.Wait()
	if err := errors.Join(err, fault); err != nil {
		return err
	}
	if cut < cuts || said.end != "" {
		return fmt.Errorf("%d of %d cuts, then: %v %s", cut, cuts, waited, said.end)
	}
	return nil
}

// cutNow looks at what disk holds at this moment, which is what is left if the power goes.
func cutNow(said *answers, cut int, mode, disk, copied, after string) error {
	if err := copyStill(disk, copied); err != nil {
		return err
	}
	if err := run("mount", "-o", "loop", copied, after); err != nil {
		return err
	}
	missing, err := said.missing(after, small(""))
	if err != nil && mode == "unsynced" {
		// Without syncing a folder may come back in any state, even one that does not open.
		missing, err = len(said.acks), nil
	}
	fmt.Printf("cut %d: %d answered, %d missing\n", cut, len(said.acks)+len(said.photos), missing)
	return errors.Join(err, run("umount", after))
}

// copyStill copies a disk's file at one moment: it reads until two readings agree, since the system may be writing to it still. Where two
// readings agree, the file was so at the time between them.
func copyStill(from, to string) error {
	first, err := os.ReadFile(from)
	for err == nil {
		var second []byte
		if second, err = os.ReadFile(from); err == nil && bytes.Equal(first, second) {
			break
		}
		first = second
	}
	if err != nil {
		return err
	}
	if err := os.Remove(to); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	f, err := os.Create(to)
	if err != nil {
		return err
	}
	var zeros [1 << 16]byte
	for at := 0; at < len(first) && err == nil; at += len(zeros) {
		if piece := first[at:min(at+len(zeros), len(first))]; !bytes.Equal(piece, zeros[:len(piece)]) {
			_, err = f.WriteAt(piece, int64(at))
		}
	}
	return errors.Join(err, f.Truncate(int64(len(first))), f.Close())
}

// TestDiskFull fills a small volume. As long as the reserve is kept: ErrFull, reading goes on, everything is there after opening again, and
// with room the store works on without being opened. With no reserve the process may die in a write; what it answered is there.
func TestDiskFull(t *testing.T) {
	t.Run("counted", func(t *testing.T) {
		if err := fullVolume([]string{t.TempDir(), "counted"}); err != nil {
			t.Fatal(err)
		}
	})
	t.Run("volume", func(t *testing.T) {
		if _, ok := apart(t, "full", t.TempDir(), "volume"); !ok {
			t.Log("a real volume is not possible here; the counted one stands for it")
		}
	})
}

// fullVolume: folder to work in, and whether to mount a volume there or only to count.
func fullVolume(args []string) error {
	ctx := context.Background()
	folder := args[0]
	const size, reserve = 96 << 20, 40 << 20
	set := small("")
	set.Reserve = reserve
	if args[1] == "volume" {
		if err := syscall.Mount("tmpfs", folder, "tmpfs", 0, fmt.Sprintf("size=%d", size)); err != nil {
			fmt.Println("no mounts here:", err)
			return nil
		}
	} else {
		set.freeSpace = func(string) (uint64, error) {
			used := uint64(0)
			err := filepath.WalkDir(folder, func(path string, e os.DirEntry, err error) error {
				if errors.Is(err, os.ErrNotExist) {
					return nil // Badger removed it
				}
				var st syscall.Stat_t
				if err == nil && syscall.Lstat(path, &st) == nil {
					used += uint64(st.Blocks) * 512
				}
				return err
			})
			return size - min(size, used), err
		}
	}
	dir := filepath.Join(folder, "store")
	s, err := open(dir, set)
	if err != nil {
		return err
	}
	ballast := filepath.Join(folder, "ballast")
	if err := os.WriteFile(ballast, bytes.Repeat([]byte{1}, 30<<20), 0o600); err != nil {
		return err
	}
	var acked answers
	for i := 0; ; i++ {
		_, err := s.Put(ctx, work(0, 0, i))
		if errors.Is(err, store.ErrFull) && !errors.Is(err, store.ErrFailed) {
			fmt.Printf("full after %d batches: %v\n", i, err)
			break
		}
		if err != nil || i == 1000 {
			return fmt.Errorf("put %d: %v, want ErrFull in the end", i, err)
		}
		acked.acks = append(acked.acks, [2]int{0, i})
	}
	if len(acked.acks) < 3 {
		return fmt.Errorf("full after %d batches already", len(acked.acks))
	}
	// Badger frees a log file of up to 12 MiB when it has written out its table, at any time. Room is taken until that makes no difference.
	free, err := set.freeSpace(folder)
	if err != nil {
		return err
	}
	if want := uint64(reserve - 16<<20); free > want {
		if err := os.WriteFile(ballast+"2", bytes.Repeat([]byte{1}, int(free-want)), 0o600); err != nil {
			return err
		}
	}
	refused := work(0, 0, len(acked.acks))
	if err := s.PutMeta(ctx, []store.Meta{{Key: "k"}}); !errors.Is(err, store.ErrFull) {
		return fmt.Errorf("PutMeta: %v, want ErrFull", err)
	}
	if again, err := s.Put(ctx, work(0, 0, 1)); err != nil || !again[0].Repeat {
		return fmt.Errorf("what is here already needs no room, but: %v", err)
	}
	if _, faults, err := store.Check(ctx, s); err != nil || len(faults) > 0 {
		return fmt.Errorf("reading while full: %v, %v", err, faults)
	}
	if err := s.Close(); err != nil {
		return err
	}
	if missing, err := acked.missing(folder, set); err != nil || missing > 0 {
		return fmt.Errorf("opened again while full: %d missing, %v", missing, err)
	}
	if s, err = open(dir, set); err != nil {
		return err
	}
	if err := errors.Join(os.Remove(ballast), os.Remove(ballast+"2")); err != nil {
		return err
	}
	if a, err := s.Put(ctx, refused); err != nil || a[0].Repeat {
		return fmt.Errorf("with room again: %v", err)
	}
	if err := s.Close(); err != nil {
		return err
	}
	acked.acks = append(acked.acks, [2]int{0, len(acked.acks)})
	if missing, err := acked.missing(folder, set); err != nil || missing > 0 {
		return fmt.Errorf("at last: %d missing, %v", missing, err)
	}
	fmt.Println("with room again it took the rest")
	if args[1] != "volume" {
		return nil
	}
	return dieOnFullVolume(folder)
}

// dieOnFullVolume fills the volume with no reserve until the pusher ends or dies, gives it room and looks.
func dieOnFullVolume(folder string) error {
	said := answers{round: 1}
	cmd := again("push", folder, 1, 2, 1, "full")
	var complained bytes.Buffer
	cmd.Stderr = &complained
	out, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	if err := said.follow(out, func() {}); err != nil {
		return err
	}
	waited := cmd.Wait()
	head, _, _ := strings.Cut(complained.String(), "\n")
	free, err := diskspace.Free(folder)
	if err != nil {
		return err
	}
	fmt.Printf("without a reserve: %d batches answered, %d bytes free at the end, process: %v %s, %s\n", len(said.acks), free, waited, head, said.end)
	if waited == nil && said.end == "" || len(said.acks) == 0 {
		return errors.New("the pusher neither died nor said that the disk is full")
	}
	if err := syscall.Mount("tmpfs", folder, "tmpfs", syscall.MS_REMOUNT, "size=512m"); err != nil {
		return err
	}
	missing, err := said.missing(folder, small(""))
	if err != nil || missing > 0 {
		return fmt.Errorf("after dying on a full disk: %d of %d answered batches are missing, %v", missing, len(said.acks), err)
	}
	return nil
}
