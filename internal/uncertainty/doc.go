// Package uncertainty says how sure a measured value is and what may be decided on it.
//
// Three documents are followed: the Guide to the Expression of Uncertainty in Measurement (JCGM 100:2008, "the Guide") for budgets, JCGM 106:2012
// for the probability of conformity, ISO 1 for the reference temperature of 20 °C.
//
// # Budgets
//
// A [Budget] is a list of contributions to one result. Each has a signed size in µm: the standard uncertainty of an input times the sensitivity of the
// result to it. Contributions with the same Key are one and the same unknown error (the calibration of one gauge, the certified value of one
// master) and so add with their signs before squaring; all others are independent. That is what makes the mean of six readings no better than the
// master they were compared with, and lets the master vanish from a difference of two of them. [Weighted] and [Difference]
// carry the keys along.
//
// Two factors stand beside each other and are named wherever they are shown: the expanded uncertainty that people read is U = 2u, the guard at one limit is
// 1.645u = 0.82U, since that is what a probability of 95 % asks for.
//
// # Decisions
//
// [Decide] turns a value, its standard uncertainty and limits into conforms, fails or cannot be told. A value fails only if one tail alone holds 95 %: with a gauge so
// poor that nothing can be told, both p_c and each tail are small, and the part must not be condemned for that.
//
// Lengths are micrometres, temperatures °C and kelvin, coefficients of expansion 1/K. A budget with infinite degrees of freedom is not meant for
// encoding/json, which has no infinity.
package uncertainty

import (
	"errors"
	"fmt"
	"math"
)

// The errors. Malformed numbers, undefined questions and answers that do not exist are told apart.
var (
	ErrMalformed        = errors.New("not a number that can be used")
	ErrLimitsCrossed    = errors.New("the lower limit lies above the upper")
	ErrNoLimits         = errors.New("neither a lower nor an upper limit")
	ErrTooFewRepeats    = errors.New("too few repeats")
	ErrSimpleNotAllowed = errors.New("the simple rule is not allowed")
	ErrNoAcceptanceZone = errors.New("the guards leave no zone between the limits")
	ErrOnLimit          = errors.New("the value lies on the limit")
	ErrNotReducible     = errors.New("more readings do not help")
)

// A BadValue is an ErrMalformed that says which argument was refused.
type BadValue struct {
	What  string
	Value float64
	Want  string
}

func (e BadValue) Error() string {
	return fmt.Sprintf("%s = %g: %v; give %s", e.What, e.Value, ErrMalformed, e.Want)
}

// Unwrap makes errors.Is(err, ErrMalformed) true.
func (e BadValue) Unwrap() error { return ErrMalformed }

func finite(what string, x float64) error {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return BadValue{what, x, "a finite number"}
	}
	return nil
}

func notNegative(what string, x float64) error {
	if !(x >= 0) || math.IsInf(x, 0) {
		return BadValue{what, x, "a finite number of at least 0"}
	}
	return nil
}
