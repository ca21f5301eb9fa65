package syncsim

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"time"
)

// Weather is what the network does to a request, each in thousandths of all requests.
type Weather struct {
	Lose        int // the request never arrives
	LoseAnswer  int // it arrives, the answer does not
	Twice       int // it arrives twice, one after the other
	Late        int // a second copy arrives hours later, among newer ones
	Cut         int // half of its body arrives
	CutAnswer   int // half of the answer's body comes back
	Alter       int // one bit of its body is changed
	AlterAnswer int // one bit of the answer's body is changed
}

// Storm is the weather of a bad week: one request in four does not come through as it should.
var Storm = Weather{Lose: 50, LoseAnswer: 60, Twice: 30, Late: 15, Cut: 25, CutAnswer: 25, Alter: 20, AlterAnswer: 20}

type fate string

const (
	passes      fate = "passed"
	lost        fate = "request lost"
	answerLost  fate = "answer lost"
	twice       fate = "request twice"
	late        fate = "request again, hours later"
	cutShort    fate = "request cut"
	answerCut   fate = "answer cut"
	altered     fate = "request altered"
	answerWrong fate = "answer altered"
)

func (w Weather) draw(random *rand.Rand) fate {
	n := random.IntN(1000)
	for _, f := range []struct {
		share int
		fate  fate
	}{{w.Lose, lost}, {w.LoseAnswer, answerLost}, {w.Twice, twice}, {w.Late, late}, {w.Cut, cutShort}, {w.CutAnswer, answerCut}, {w.Alter, altered}, {w.AlterAnswer, answerWrong}} {
		if n -= f.share; n < 0 {
			return f.fate
		}
	}
	return passes
}

// serverSays is an answer that is an error.
type serverSays struct {
	status        int
	code, message string
}

func (e *serverSays) Error() string {
	return fmt.Sprintf("the server says %d %s: %s", e.status, e.code, e.message)
}

func says(err error, status int) bool {
	var e *serverSays
	return errors.As(err, &e) && e.status == status
}

func digestOf(body []byte) string {
	sum := sha256.Sum256(body)
	return "sha-256=:" + base64.StdEncoding.EncodeToString(sum[:]) + ":"
}

// trip is when a request left and its answer was there, by the device's own clock.
type trip struct{ sent, received int64 }

// patience is how long a device waits for an answer, ms.
const patience = 30 * second

// ask sends one request and decodes its answer into out. The error is errNoAnswer or a *serverSays; what breaks the simulation itself ends the run.
func (p *page) ask(method, path, token string, in, out any) (trip, error) {
	var body []byte
	if in != nil {
		var err error
		if body, err = json.Marshal(in); err != nil {
			p.w.must(err)
		}
	}
	t := trip{sent: p.wall()}
	answer, err := p.carry(method, path, token, body)
	t.received = p.wall()
	if err != nil {
		if !errors.Is(err, errNoAnswer) {
			p.w.must(err)
		}
		return t, errNoAnswer
	}
	if answer.digest != digestOf(answer.body) && (p.w.keeps(looksAtDigests) || !json.Valid(answer.body)) {
		return t, errNoAnswer // cut or altered: as good as none
	}
	if answer.status != 200 {
		var e struct {
			Error struct{ Code, Message string }
		}
		if err := json.Unmarshal(answer.body, &e); err != nil {
			p.w.must(fmt.Errorf("%s %s: status %d without a reason: %q", method, path, answer.status, answer.body))
		}
		return t, &serverSays{answer.status, e.Error.Code, e.Error.Message}
	}
	if err := json.Unmarshal(answer.body, out); err != nil {
		p.w.must(fmt.Errorf("%s %s: %w", method, path, err))
	}
	return t, nil
}

// carry takes a request to the server and its answer back, through the weather.
func (p *page) carry(method, path, token string, body []byte) (reply, error) {
	w, random := p.w, p.dev.random
	digest := digestOf(body)
	if !w.keeps(looksAtDigests) {
		digest = ""
	}
	if w.watch != nil {
		began := time.Now()
		defer func() { w.watch(path, time.Since(began)) }()
	}
	p.pause(20 + random.Int64N(400))
	if p.dev.offline {
		p.pause(100)
		return reply{}, errNoAnswer
	}
	w.count("requests", 1)
	f := passes
	if !p.calm {
		f = w.weather.draw(random)
		if len(body) < 2 && (f == cutShort || f == altered) {
			f = lost
		}
		if f != passes {
			w.count(string(f), 1)
		}
	}
	switch f {
	case lost:
		p.pause(patience)
		return reply{}, errNoAnswer
	case cutShort:
		w.must(w.house.cut(method, path, token, digest, body, len(body)/2))
		p.pause(second)
		return reply{}, errNoAnswer
	case altered:
		body = bytes.Clone(body)
		body[random.IntN(len(body))] ^= 1 << random.IntN(7)
	case late:
		w.after(minute+random.Int64N(6*hour), func() {
			if _, err := w.house.serve(method, path, token, digest, body); err != nil && !errors.Is(err, errNoAnswer) {
				w.must(err)
			}
		})
	}
	answer, err := w.house.serve(method, path, token, digest, body)
	if f == twice && err == nil {
		p.pause(random.Int64N(3 * second))
		again, err := w.house.serve(method, path, token, digest, body)
		if random.IntN(2) == 0 {
			answer = again
		}
		if err != nil {
			return reply{}, err
		}
	}
	if err != nil {
		p.pause(random.Int64N(patience))
		return reply{}, err
	}
	if f == altered && answer.status == 200 && w.keeps(looksAtDigests) {
		w.must(fmt.Errorf("%s %s: a body with one bit changed was taken", method, path))
	}
	p.pause(20 + random.Int64N(400))
	switch f {
	case answerLost:
		p.pause(patience)
		return reply{}, errNoAnswer
	case answerCut:
		answer.body = answer.body[:len(answer.body)/2]
	case answerWrong:
		answer.body = bytes.Clone(answer.body)
		answer.body[random.IntN(len(answer.body))] ^= 1 << random.IntN(7)
	}
	return answer, nil
}
