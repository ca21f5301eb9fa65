// Package jobfile reads and writes the job file: specifications, set-ups and readings of one job in a form that people type and scripts generate.
//
// The file is JSON; its readings may also stand in a CSV beside it. Every number carries its unit in its key (nominal_mm, upper_um, angle_deg, t_part_degc) and
// is taken digit by digit into whole picometres, millidegrees or millikelvins. What would need rounding is refused, so nothing passes through a float64.
//
// # Strictness
//
// A key that is not known, a key twice, a key without its unit, a number that is not finite or too fine, a name that nothing bears, an id twice: each is an error that names the file, the
// line and the path (the column, in a CSV) and says what to do. Reading goes on after an error, and up to [MaxErrors] are reported together; only broken syntax ends it at once.
//
// # Defaults
//
// What may be left out, and what then holds:
//
//   - a reading's set-up: the file's "defaults": {"setup": …}; a yes/no answer needs none
//   - its person: the set-up's, else the file's "defaults": {"person": …}
//   - its purpose: the file's "defaults": {"purpose": …}, else inspection
//   - its characteristic and plane: the feature's, where it has but one
//   - its angle and repeat: 0
//   - what value_um means: "indicator" for a run-out or another sweep and under an indicator set-up, "from master" under a set-up to a master; under an absolute set-up it must be said
//   - a component's name: its id; its origin: removed; whether it has run: yes if removed
//   - a specification's source: drawing; whether a characteristic is required: yes
//   - a set-up's mode: master, if it names one
//
// A key whose value is null counts as left out.
//
// # What it holds
//
// A file holds what the verdicts rest on and nothing else: of a recorded job the readings that count, the set-ups with their corrected constants, the concessions that apply and the damage that
// nobody has decided on. Decisions, photos, outlines and earlier rounds stay in the record.
package jobfile
