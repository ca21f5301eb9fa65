package jobfile

import (
	"strconv"

	"runtrue/internal/length"
	"runtrue/internal/spindle"
	"runtrue/internal/verdict"
)

// found is a reading as it stands in a file, before defaults are filled in.
type found struct {
	verdict.Observation
	planeGiven bool
	spot       spot
}

// readingFields describes a reading. Exactly one of value_um, size_mm, value and yes says what was read.
func readingFields(o *object, r *found) {
	v := &r.Reading
	o.text("id", &r.ID, false)
	o.text("setup", &v.Setup, false)
	o.text("person", &r.Person, false)
	o.text("feature", &v.Feature, true)
	o.text("characteristic", &v.Characteristic, false)
	o.text("plane", &v.Plane, o.writing())
	number(o, "angle_deg", inDegrees, &v.Angle, false)
	number(o, "repeat", 0, &v.Repeat, false)
	o.flag("closing", &v.Closing, false)
	if o.writing() {
		word(o, "purpose", &v.Purpose, false)
		writeValue(o, v)
		return
	}
	n := o.find("plane")
	r.planeGiven = n != nil && n.kind != kindNull
	word(o, "purpose", &v.Purpose, false)
	readValue(o, v)
}

func writeValue(o *object, v *spindle.Reading) {
	switch {
	case v.Value != nil && v.Means == spindle.MeansSize:
		o.put("size_mm", unscaled(int64(*v.Value), inMillimetres))
	case v.Value != nil:
		word(o, "means", &v.Means, true)
		o.put("value_um", unscaled(int64(*v.Value), inMicrometres))
	case v.Quantity != nil:
		o.put("value", QuantityText(*v.Quantity))
		o.text("unit", &v.Quantity.Unit, true)
		o.text("bound", &v.Quantity.Bound, false)
	case v.Yes != nil:
		o.put("yes", strconv.FormatBool(*v.Yes))
	}
}

// readValue reads what was read off. What value_um means may still be open.
func readValue(o *object, v *spindle.Reading) {
	var deviation, size *length.Length
	word(o, "means", &v.Means, false)
	optional(o, "value_um", inMicrometres, &deviation)
	optional(o, "size_mm", inMillimetres, &size)
	bound := ""
	o.text("bound", &bound, false)
	v.Quantity = o.quantity("value", "unit", bound)
	unit := ""
	o.text("unit", &unit, false)
	var yes bool
	o.flag("yes", &yes, false)
	given := ""
	for _, key := range []string{"value_um", "size_mm", "value", "yes"} {
		n := o.find(key)
		if n == nil || n.kind == kindNull {
			continue
		}
		if given != "" {
			o.faultf(key, ErrInvalid, "the reading has %s already; one reading has one value", given)
			return
		}
		given, v.Typed = key, n.text
	}
	switch given {
	case "value_um":
		v.Value, v.Unit = deviation, string(length.Micrometres)
	case "size_mm":
		v.Value, v.Unit = size, string(length.Millimetres)
		means(o, v, spindle.MeansSize)
	case "value":
		v.Unit = unit
		means(o, v, spindle.MeansQuantity)
	case "yes":
		v.Yes = &yes
		means(o, v, spindle.MeansYesNo)
	default:
		if !o.nearby("value_um") && !o.nearby("size_mm") {
			o.faultf("", ErrMissing, "the reading has no value: write value_um, size_mm, value with its unit, or yes")
		}
	}
	if given != "value" && (unit != "" || bound != "") {
		o.faultf("unit", ErrInvalid, "unit and bound belong to value; a length has its unit in its key")
	}
}

func means(o *object, v *spindle.Reading, only spindle.Meaning) {
	if v.Means != "" && v.Means != only {
		o.faultf("means", ErrInvalid, "%s does not fit the key of the value, which means %s; leave it out", shown(string(v.Means)), shown(string(only)))
	}
	v.Means = only
}
