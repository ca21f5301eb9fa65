package syncsim

import (
	"errors"
	"fmt"
	"maps"

	"runtrue/internal/record"
	"runtrue/internal/spindle"
)

// calamities spreads what the plan holds in store over the time.
func (w *world) calamities(length int64) {
	plan := w.plan
	often := func(n int, happen func()) {
		for range n {
			w.after(w.random.Int64N(length), happen)
		}
	}
	often(plan.Kills, func() {
		if w.house.up {
			w.house.mortal.arm(deaths[w.random.IntN(len(deaths))], w.random.IntN(6), w.random)
		}
	})
	often(plan.Restarts, func() {
		if w.house.up && !w.house.mortal.isKilled() {
			w.must(w.house.restart())
		}
	})
	often(plan.Backups, func() {
		if w.house.up {
			w.must(w.house.backUp(w.random.IntN(4) > 0))
		}
	})
	if plan.Together {
		often(plan.Rushes, w.rush)
	}
	for i := range plan.Restores {
		// Late in the week, when there is something to lose. Both always happen.
		at := length/3 + w.random.Int64N(length/4) + int64(i)*length/4
		var try func()
		try = func() {
			if !w.house.up {
				w.after(minute, try)
				return
			}
			w.must(w.house.putBack(plan.Tidying))
		}
		w.after(at, try)
	}
	for _, k := range []struct {
		times  int
		happen func(d *device)
	}{
		{plan.Crashes, func(d *device) {
			w.ledger.count("devices switched off", 1)
			d.reboot()
		}},
		{plan.Clones, w.clone},
		{plan.Rollbacks, w.rollback},
		{plan.Evictions, w.evict},
		{plan.ClockJumps, func(d *device) { d.skew = w.random.Int64N(2*year) - year }},
		{plan.Outages, func(d *device) {
			d.offline = true
			w.after(hour+w.random.Int64N(16*hour), func() { d.offline = false })
		}},
		{plan.Full, func(d *device) {
			d.disk.full = true
			w.after(minute+w.random.Int64N(4*hour), func() { d.disk.full = false })
		}},
		{plan.HandOvers, w.handOver},
	} {
		often(k.times, func() { k.happen(w.devices[1+w.random.IntN(len(w.devices)-1)]) })
	}
	if plan.Withdraw {
		w.after(length/4+w.random.Int64N(length/2), w.withdraw)
	}
}

// rush lets all devices that can send and fetch at the very same time, as after the lunch break; often the server is killed among them.
func (w *world) rush() {
	if !w.house.up || w.house.mortal.isKilled() {
		return
	}
	if w.random.IntN(2) == 0 {
		w.house.mortal.arm(deaths[w.random.IntN(len(deaths))], w.random.IntN(12), w.random)
	}
	var up []*device
	for _, d := range w.devices {
		if len(d.pages) > 0 && !d.offline {
			up = append(up, d)
		}
	}
	w.house.crowded = true
	faults := w.atSameTime(up, func(d *device) error { return errOf(d.page(func(int64) {}, true).round()) })
	w.house.crowded = false
	for i, err := range faults {
		switch {
		case errors.Is(err, errDied):
			w.ledger.count("devices died in a transaction", 1)
			up[i].reboot()
		case err != nil:
			up[i].count(err)
		}
	}
	w.count("rushes", 1)
	w.trace("%d devices at once", len(up))
	if w.house.mortal.isKilled() {
		w.must(w.house.bury())
	}
}

// clone makes a second device out of a copy of one's database, tokens included: both go on as the same.
func (w *world) clone(d *device) {
	c := w.newDevice(d.name+"'", d.person)
	c.disk.replace(d.disk.rows.copied())
	c.skew, c.tidies = d.skew, d.tidies
	w.count("devices cloned", 1)
	w.trace("%s is cloned with %d entries", d.name, len(c.disk.rows.order))
	c.start(1)
}

// rollback takes a copy of a device's database now and puts it back hours later.
func (w *world) rollback(d *device) {
	copied := d.disk.rows.copied()
	w.after(hour+w.random.Int64N(20*hour), func() {
		if len(d.pages) == 0 {
			return
		}
		w.trace("%s is put back from %d entries to %d", d.name, len(d.disk.rows.order), len(copied.order))
		w.count("devices put back", 1)
		d.lose(copied)
	})
}

// evict empties a device: its browser has thrown its storage away.
func (w *world) evict(d *device) {
	if len(d.pages) == 0 {
		return
	}
	w.trace("%s loses its storage with %d entries", d.name, len(d.disk.rows.order))
	w.count("devices emptied", 1)
	d.lose(newDisk().rows)
}

// handOver gives a device with what is unsent on it to somebody else.
func (w *world) handOver(d *device) {
	if d.person == admin {
		return
	}
	d.person = technicians[w.random.IntN(len(technicians))]
	w.trace("%s is handed to %s", d.name, d.person)
	w.count("devices handed over", 1)
	d.run(func(pause func(int64)) {
		p := d.page(pause, false)
		for range 20 {
			if s := d.disk.rows.session; s != nil && s.person == d.person {
				return
			}
			if err := p.enter(); err != nil {
				d.count(err)
			}
			p.pause(10 * minute)
		}
	})
}

// withdraw takes the role back from the second inspector, whose devices are without a network then and for some hours, and go on.
func (w *world) withdraw() {
	person := inspectors[1]
	for _, d := range w.devices {
		if d.person == person {
			d.offline = true
			w.after(4*hour+w.random.Int64N(8*hour), func() { d.offline = false })
		}
	}
	office := w.devices[0]
	office.run(func(pause func(int64)) {
		p := office.page(pause, true)
		body := &record.Grant{Person: person, Role: spindle.Inspector, From: w.now(), Withdraws: w.grants[person]}
		for {
			if p.replica(record.ShopJob).Has(w.grants[person]) {
				if _, err := p.write(record.ShopJob, spindle.Admin, body); err == nil {
					break
				}
			}
			pause(minute)
		}
		w.trace("the role of %s is withdrawn", person)
		w.count("roles withdrawn", 1)
	})
}

// drain heals everything and lets all devices send and fetch until nothing moves.
func (w *world) drain(report *Report) {
	for _, d := range w.devices {
		d.stop()
	}
	w.queue = nil // copies of old requests that are still under way never arrive
	w.weather = Weather{}
	if w.house.up && w.house.mortal.isKilled() {
		w.must(w.house.bury())
	}
	if !w.house.up {
		w.must(w.house.reopen())
	}
	w.house.mortal.disarm()
	w.expect(report)
	for _, d := range w.devices {
		d.offline, d.disk.full, d.tidies = false, false, false
		if d.person == inspectors[1] && w.counts["roles withdrawn"] > 0 {
			d.person = inspectors[0] // whoever lost the last role can hand in and not read; somebody else takes the device
		}
		w.must(d.disk.write(func(r *rows) {
			for job := range maps.Clone(r.tidied) {
				r.forgetCursor(job)
			}
		}))
		if s := d.disk.rows.session; s == nil || s.ended || s.person != d.person {
			w.must(d.page(func(int64) {}, true).enter())
		}
	}
	const most = 12
	for report.Passes = 1; ; report.Passes++ {
		if report.Passes > most {
			w.must(fmt.Errorf("after %d rounds of all devices something still moves", most))
		}
		w.ms.Add(20 * minute) // so that every round begins with a fresh look at the clock, and failed attempts are forgiven
		if quiet := w.pass(); quiet {
			return
		}
	}
}
