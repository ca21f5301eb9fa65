package syncsim

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"math/rand/v2"
	"os"
	"slices"
	"sync"
	"time"

	"runtrue/internal/access"
	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

// Plan says what a run is made of. The zero value of a field means none of it.
type Plan struct {
	Seed    uint64
	Folder  string // for the stores; it must exist
	Devices int
	Days    int // simulated
	Weather Weather
	// How often each of these happens in the run.
	Kills, Restarts, Restores, Backups, Crashes, Clones, Rollbacks, Evictions, ClockJumps, Outages, Full, HandOvers int
	// DiesOnceIn is in how many transactions a device dies once, before or after.
	DiesOnceIn int
	// SecondPages is how many devices have two pages open.
	SecondPages int
	// Tidying devices drop what is in a backup.
	Tidying bool
	// Withdraw takes an inspector's role back in mid-week.
	Withdraw bool
	// Together lets all devices drain at once in the end, each in a goroutine of its own, and Rushes times in the week; what follows is then not repeated by the seed.
	Together bool
	Rushes   int
	// MostPushed and MostPulled are the entries in a request, drawn by lot if 0.
	MostPushed, MostPulled int
	// Print receives every event; nil: none.
	Print func(line string)

	// script is run by tests when everybody has entered; it may change the devices.
	script func(w *world)
	// breaks is a rule that is not kept in the run, for the test that the simulation sees it.
	breaks rule
}

// rule is something that devices do right, and the server's disk.
type rule string

const (
	looksAtDigests      rule = "bodies go and come under their digest"
	recallsDoubtful     rule = "what the server said to have is held to be there only when it was pulled"
	olderCursorsVouch   rule = "only a cursor older than the server's answer vouches"
	offersWhatItHolds   rule = "a history that is not continued is offered what is here"
	tidiesWhatIsBacked  rule = "only what is in a backup is tidied away"
	storesBeforeCursors rule = "entries are stored with the cursor that says so"

	disksKeepWhatIsSynced rule = "what was synced is there after a kill"
)

// BadWeek is the plan of a seed: everything that can happen, as often as the seed draws.
func BadWeek(seed uint64, folder string) Plan {
	random := rand.New(rand.NewPCG(seed, 0xbad))
	up := func(most int) int { return random.IntN(most + 1) }
	devices := 5 + up(4)
	if random.IntN(15) == 0 {
		devices = 20
	}
	return Plan{Seed: seed, Folder: folder, Devices: devices, Days: 2 + up(2), Weather: Storm, DiesOnceIn: 750,
		Kills: 3 + up(4), Restarts: up(2), Restores: 2, Backups: 2 + up(3), Crashes: 6 + up(10), Clones: up(2), Rollbacks: up(2), Evictions: up(2), ClockJumps: 3 + up(4),
		Outages: 4 + up(8), Full: up(3), HandOvers: up(2), SecondPages: up(2), Tidying: random.IntN(3) == 0, Withdraw: random.IntN(2) == 0, Together: random.IntN(2) == 0, Rushes: 1 + up(5)}
}

// Report is what came of a run.
type Report struct {
	Seed     uint64
	Counts   map[string]int // of everything that happened, by name
	Entries  int            // in the end, on every replica
	Jobs     int
	Lost     int           // saved once, and lost by every holder before the links healed
	Shown    int           // of these, shown as "on the server" once
	Passes   int           // rounds of all devices until nothing moved
	Digest   string        // of everything that happened; the same seed gives the same, unless Together
	Took     time.Duration // of simulated time
	Problems []string      // what must not be, empty if all is well
}

// admin is the person who runs the shop's record.
const admin = "boss"

type world struct {
	*schedule
	*ledger
	ctx     context.Context
	plan    Plan
	weather Weather
	random  *rand.Rand
	house   *house
	devices []*device

	jobsBegun              int
	mostPushed, mostPulled int
	grants                 map[string]record.ID // the inspectors'

	watch func(path string, took time.Duration) // told how long each request took in truth; nil: nobody

	traceMu sync.Mutex
	digest  hash.Hash
}

// broken ends a run: the simulation found what must not be, or could not go on.
type broken struct{ err error }

func (w *world) keeps(r rule) bool { return w.plan.breaks != r }

func (w *world) must(err error) {
	if err != nil {
		panic(broken{err})
	}
}

func (w *world) trace(format string, args ...any) {
	w.traceMu.Lock()
	defer w.traceMu.Unlock()
	line := fmt.Sprintf("%8.2f h  ", float64(w.now()-recordStart)/float64(hour)) + fmt.Sprintf(format, args...)
	w.digest.Write([]byte(line + "\n"))
	if w.plan.Print != nil {
		w.plan.Print(line)
	}
}

// recordStart is when the week begins, milliseconds since 1970 UTC.
const recordStart int64 = 1_795_000_000_000

// Run plays one week. The error is about the playing itself: the context, a disk of this machine. What the program did wrong is in Report.Problems.
func Run(ctx context.Context, plan Plan) (report Report, err error) {
	w := &world{schedule: &schedule{}, ledger: newLedger(), ctx: ctx, plan: plan, weather: plan.Weather, random: rand.New(rand.NewPCG(plan.Seed, 1)), digest: sha256.New(), grants: map[string]record.ID{},
		mostPushed: plan.MostPushed, mostPulled: plan.MostPulled}
	w.ms.Store(recordStart)
	if w.mostPushed == 0 {
		w.mostPushed = []int{4, 30, 500}[w.random.IntN(3)]
	}
	if w.mostPulled == 0 {
		w.mostPulled = []int{5, 60, 1000}[w.random.IntN(3)]
	}
	root, err := os.MkdirTemp(plan.Folder, fmt.Sprintf("seed-%d-", plan.Seed))
	if err != nil {
		return report, err
	}
	w.house = newHouse(w, root, plan.Seed)
	report.Seed = plan.Seed
	defer func() {
		if p := recover(); p != nil {
			b, ok := p.(broken)
			if !ok {
				panic(p)
			}
			report.Problems = append(report.Problems, b.err.Error())
		}
		for _, d := range w.devices {
			d.stop()
		}
		report.Counts, report.Digest, report.Took = w.counts, hex.EncodeToString(w.digest.Sum(nil)), time.Duration(w.now()-recordStart)*time.Millisecond
		err = errors.Join(err, ctx.Err(), w.house.close(), os.RemoveAll(root))
	}()
	w.begin()
	w.week()
	w.drain(&report)
	w.check(&report)
	return report, nil
}

// begin founds the shop in calm weather: people, roles, devices, two jobs, a first backup.
func (w *world) begin() {
	w.must(w.house.open(w.ctx, w.house.newFolder()))
	_, _, err := w.house.srv.FirstAdmin(w.ctx, admin, time.Hour)
	w.must(err)
	office := w.newDevice("office", admin)
	desk := office.page(func(int64) {}, true)
	w.must(desk.enter())
	w.must(errOf(desk.round()))
	give := func(person string, role spindle.Role) {
		id, err := desk.write(record.ShopJob, spindle.Admin, &record.Grant{Person: person, Role: role, From: recordStart})
		w.must(err)
		if role == spindle.Inspector {
			w.grants[person] = id
		}
	}
	for _, person := range technicians {
		give(person, spindle.Technician)
	}
	for _, person := range inspectors {
		give(person, spindle.Inspector)
	}
	w.must(errOf(desk.round()))
	for i := range w.plan.Devices {
		person := technicians[i%len(technicians)]
		if i%3 == 2 {
			person = inspectors[(i/3+1)%len(inspectors)]
		}
		d := w.newDevice(fmt.Sprint("t", i+1), person)
		d.tidies = w.plan.Tidying && i%2 == 0
		if w.random.IntN(2) == 0 {
			d.skew = w.random.Int64N(2*year) - year
		}
		p := d.page(func(int64) {}, true)
		w.must(p.enter())
		if i < 2 {
			w.jobsBegun++
			w.must(p.begin(fmt.Sprintf("job-%d", w.jobsBegun)))
		}
		w.must(errOf(p.round()))
	}
	w.must(w.house.backUp(true))
	if w.plan.script != nil {
		w.plan.script(w)
	}
}

var (
	technicians = []string{"p1", "p2", "p5", "p6"}
	inspectors  = []string{"p3", "p4"}
)

func errOf(_ bool, err error) error { return err }

func (w *world) newDevice(name, person string) *device {
	d := &device{w: w, name: name, person: person, random: rand.New(rand.NewPCG(w.plan.Seed, uint64(100+len(w.devices)))), disk: newDisk(), locks: map[string]*page{}}
	w.devices = append(w.devices, d)
	return d
}

func (w *world) newCode(person string) (string, error) {
	code, _, err := w.house.desk.NewCode(w.ctx, access.CodeFor{Person: person})
	if err != nil && w.house.mortal.isKilled() {
		w.must(w.house.bury())
		return "", errNoAnswer
	}
	return code, err
}

// week lets everything happen.
func (w *world) week() {
	if w.plan.Days == 0 {
		return
	}
	end := recordStart + int64(w.plan.Days)*day
	for i, d := range w.devices {
		pages := 1
		if i > 0 && i <= w.plan.SecondPages {
			pages = 2
		}
		d.start(pages)
	}
	w.calamities(end - w.now())
	w.runUntil(end, func() bool { return w.ctx.Err() != nil })
	w.must(w.ctx.Err())
}

// start opens so many pages on the device. It dies now and then.
func (d *device) start(pages int) {
	d.open = pages
	for range pages {
		d.run(func(pause func(int64)) { d.live(d.page(pause, false)) })
	}
	if n := d.w.plan.DiesOnceIn; n > 0 && d.person != admin {
		d.disk.crash = func() bool { return d.random.IntN(2*n) == 0 } // asked twice in each
	}
}

// run does something on the device, which may die of it.
func (d *device) run(work func(pause func(int64))) {
	d.pages = append(d.pages, d.w.start(func(pause func(int64)) {
		defer func() {
			if p := recover(); p != nil {
				if _, ok := p.(crashed); !ok {
					panic(p)
				}
				d.w.count("devices died in a transaction", 1)
				d.w.after(0, d.reboot)
			}
		}()
		work(pause)
	}))
}

func (d *device) stop() {
	for _, t := range d.pages {
		t.stop()
	}
	d.pages = nil
	clear(d.locks)
	d.disk.crash = nil
}

// reboot starts the device anew on its database, some minutes later. It does nothing to a device that is down already.
func (d *device) reboot() {
	if len(d.pages) == 0 {
		return
	}
	d.stop()
	d.w.after(second+d.random.Int64N(5*minute), func() { d.start(d.open) })
}

// lose puts another database in the place of the device's.
func (d *device) lose(r rows) {
	d.stop()
	d.disk.replace(r)
	d.w.after(second, func() { d.start(d.open) })
}

// live is a person's day at the device.
func (d *device) live(p *page) {
	for {
		// Breaks and shifts bring people back to their devices at the same time.
		p.pause(5*minute + d.random.Int64N(70*minute))
		if d.random.IntN(2) == 0 {
			p.pause(10*minute - d.w.now()%(10*minute) + d.random.Int64N(3*second))
		}
		for range d.random.IntN(4) {
			if err := p.work(); err != nil {
				d.count(err)
			}
		}
		if s := d.disk.rows.session; s == nil || s.ended && d.random.IntN(2) == 0 {
			if err := p.enter(); err != nil {
				d.count(err)
			}
		}
		for failures := int64(1); failures < 10; failures++ {
			_, err := p.round()
			if err == nil {
				break
			}
			d.count(err)
			if d.offline || !errors.Is(err, errNoAnswer) {
				break
			}
			p.pause(backOff(failures)/2 + d.random.Int64N(backOff(failures)/2))
		}
	}
}

// backOff is the greatest pause before the next try, ms: from a second, doubling, to a minute.
func backOff(failures int64) int64 { return min(minute, second<<min(failures-1, 10)) }

// count notes an error that a device meets and lives with; anything else ends the run.
func (d *device) count(err error) {
	var e *serverSays
	switch {
	case errors.Is(err, errNoAnswer), errors.Is(err, errTidied):
	case errors.Is(err, errNotEntered):
		d.w.ledger.count("rounds without a session", 1)
	case errors.Is(err, errFull):
		d.w.ledger.count("transactions that found the storage full", 1)
	case errors.As(err, &e) && slices.Contains([]string{"altered", "expired", "session ended", "code", "slow down", "stopping", "forbidden", "busy"}, e.code),
		errors.As(err, &e) && !d.w.keeps(looksAtDigests):
		d.w.ledger.count("the server said: "+e.code, 1)
	default:
		d.w.must(fmt.Errorf("%s: %w", d.name, err))
	}
}
