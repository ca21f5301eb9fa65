package uncertainty

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// 32 °C, five minutes later 30 °C, master at 21 °C: 11 K became 9 K, so τ = 5/ln(11/9) = 24.92 min. A 70 mm journal of 8 µm tolerance is soaked within 8/10/0.805 = 0.994 K,
// reached after 24.92·ln(9/0.994) = 54.9 min.
func TestSoaking(t *testing.T) {
	s, err := Soaking{MasterC: 21, FirstC: 32, LaterC: 30, ApartMinutes: 5}.Fit()
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(s.TimeConstant-24.9164) > 1e-3 {
		t.Errorf("time constant %v min, want 24.916", s.TimeConstant)
	}
	within := SoakedWithin(8, 70_000, AlphaSteel)
	if math.Abs(within-0.99379) > 1e-4 {
		t.Errorf("soaked within %v K, want 0.9938", within)
	}
	if wait, err := s.Wait(within); err != nil || math.Abs(wait-54.904) > 0.01 {
		t.Errorf("wait %v min, %v; want 54.90", wait, err)
	}
	if wait, err := s.Wait(9.5); err != nil || wait != 0 {
		t.Errorf("near enough already: %v min, %v", wait, err)
	}
	for _, c := range []struct {
		s    Soaking
		want error
	}{
		{Soaking{21, 30, 32, 5, 0, 0}, ErrNotSettling},
		{Soaking{21, 30, 30, 5, 0, 0}, ErrNotSettling},
		{Soaking{21, 23, 20, 5, 0, 0}, ErrNotSettling},
		{Soaking{21, 32, 30, 0, 0, 0}, ErrMalformed},
		{Soaking{math.NaN(), 32, 30, 5, 0, 0}, ErrMalformed},
	} {
		if _, err := c.s.Fit(); !errors.Is(err, c.want) {
			t.Errorf("%+v: %v, want %v", c.s, err, c.want)
		}
	}
	if _, err := s.Wait(0); !errors.Is(err, ErrMalformed) {
		t.Errorf("within 0 K: %v", err)
	}
	if still, err := (Soaking{21, 32, 21, 5, 0, 0}).Fit(); err != nil {
		t.Errorf("there already: %v", err)
	} else if wait, err := still.Wait(0.1); err != nil || wait != 0 {
		t.Errorf("there already: %v min, %v", wait, err)
	}
}

// After the wait the exponential that was fitted is exactly as near as was asked for.
func TestWaitIsLongEnough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		master, away := rapid.Float64Range(15, 25).Draw(t, "master in °C"), rapid.Float64Range(-20, 20).Draw(t, "part away in K")
		tau, apart := rapid.Float64Range(5, 200).Draw(t, "time constant in min"), rapid.Float64Range(1, 30).Draw(t, "apart in min")
		within := rapid.Float64Range(0.05, 5).Draw(t, "within K")
		if math.Abs(away) < 0.01 {
			t.Skip("no difference to speak of")
		}
		later := away * math.Exp(-apart/tau)
		s, err := Soaking{MasterC: master, FirstC: master + away, LaterC: master + later, ApartMinutes: apart}.Fit()
		if err != nil {
			t.Fatal(err)
		}
		wait, err := s.Wait(within)
		if err != nil {
			t.Fatal(err)
		}
		left := math.Abs(later) * math.Exp(-wait/tau)
		if left > within*1.001 || (wait > 0 && left < within*0.999) {
			t.Fatalf("after %v min %v K are left, %v were allowed", wait, left, within)
		}
	})
}
