package verdict

import (
	"errors"
	"math"
	"strconv"

	"runtrue/internal/spindle"
	"runtrue/internal/uncertainty"
)

// ErrNoTolerance says that a feature has no size tolerance that a wait could be measured by.
var ErrNoTolerance = errors.New("no size tolerance")

// SoakWait tells from two temperatures of a part, taken apart minutes one after the other, how many minutes from the second on it must still lie beside its master until their difference
// bears on the size by less than a tenth of the tolerance. Temperatures are thousandths of a degree Celsius; the set-up's own for the part is not looked at, its master's must be
// measured. The words say the same to a person.
//
// Errors: [ErrNoTolerance], and what package uncertainty says of temperatures that do not come nearer.
func SoakWait(spec spindle.Specification, setup spindle.Setup, first, later int64, apart float64) (minutes float64, words string, err error) {
	tolerance := sizeTolerance(spec)
	if tolerance == nil || *tolerance <= 0 || spec.Nominal <= 0 {
		return 0, "", errors.Join(ErrNoTolerance, errors.New("give the feature a tolerance class or limits of size"))
	}
	if setup.TMaster == nil {
		return 0, "", errors.Join(uncertainty.ErrMalformed, errors.New("measure the temperature of the master first"))
	}
	s, err := uncertainty.Soaking{MasterC: celsius(*setup.TMaster), FirstC: celsius(first), LaterC: celsius(later), ApartMinutes: apart}.Fit()
	if err != nil {
		return 0, "", err
	}
	within := uncertainty.SoakedWithin(tolerance.Micrometres(), spec.Nominal.Micrometres(), coefficient(spec.MaterialAlpha))
	if minutes, err = s.Wait(within); err != nil {
		return 0, "", err
	}
	near := strconv.FormatFloat(within, 'f', 1, 64) + " K of the master, where they bear on the size by a tenth of the tolerance " + exact(*tolerance)
	if minutes == 0 {
		return 0, "soaked: the part is within " + near, nil
	}
	return tidy(minutes), "wait " + plural(int(math.Ceil(minutes)), "minute", "minutes") + ": then the part is within " + near, nil
}
