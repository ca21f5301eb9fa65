package verdict

import (
	"errors"
	"strings"
	"testing"

	"runtrue/internal/spindle"
	"runtrue/internal/uncertainty"
)

func TestSoakWait(t *testing.T) {
	setup := spindle.Setup{TMaster: ptr(int64(21_000))}
	minutes, words, err := SoakWait(journal(), setup, 32_000, 30_000, 5)
	if near(t, "minutes", minutes, 54.904, 0.01); err != nil || words != "wait 55 minutes: then the part is within 1.0 K of the master, where they bear on the size by a tenth of the tolerance 8 µm" {
		t.Errorf("%q, %v", words, err)
	}
	if minutes, words, err := SoakWait(journal(), setup, 21_800, 21_500, 5); err != nil || minutes != 0 || !strings.HasPrefix(words, "soaked") {
		t.Errorf("%v min, %q, %v", minutes, words, err)
	}
	if _, _, err := SoakWait(journal(), setup, 30_000, 31_000, 5); !errors.Is(err, uncertainty.ErrNotSettling) {
		t.Errorf("getting warmer: %v", err)
	}
	if _, _, err := SoakWait(swept(4, greatest(spindle.CircularRunOut, 2)), setup, 32_000, 30_000, 5); !errors.Is(err, ErrNoTolerance) {
		t.Errorf("no size: %v", err)
	}
	if _, _, err := SoakWait(journal(), spindle.Setup{}, 32_000, 30_000, 5); !errors.Is(err, uncertainty.ErrMalformed) {
		t.Errorf("master not measured: %v", err)
	}
}
