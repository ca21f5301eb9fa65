// Package iso286 gives the limits of size that a tolerance class such as k4 or JS5 allows at a nominal size, after ISO 286.
//
// # What is table and what is rule
//
// Two tables carry the numbers: the standard tolerances IT01 to IT18 (ISO 286-1, Table 1) and the fundamental deviations of the letters
// (Tables 2 to 5), each by step of nominal size. A step reaches from above its lower bound up to and including its upper bound, and it is
// found from the nominal size, never from a measured one: 30 mm is in 18 to 30, 30.001 mm in 30 to 50. Everything else is rule:
//
//   - The limit that the fundamental deviation does not give lies one standard tolerance further from the zero line: ei = es − IT,
//     es = ei + IT, and likewise EI and ES.
//   - js and JS lie evenly about the zero line, ±IT/2. Half micrometres are kept; rounding is for display alone. (The 1988 edition let an
//     odd IT7 to IT11 be lowered by one micrometre first. That is optional and not done here.)
//   - Holes K, M and N up to IT8, and P to ZC up to IT7, above 3 mm and up to 500 mm, add the increment delta of their own grade to the
//     printed ES. M6 from 250 to 315 mm is the one exception: a footnote sets its ES to −9 µm.
//
// The formulae from which the standard's values once came do not reproduce its rounding. Where they differ the table wins, so no formula
// is used here.
//
// # Where a class has no limits
//
// Malformed, out of range and not defined are three different faults. 70 mm kk is malformed; 4000 mm h6 is out of range, since the
// standard ends at 3150 mm; 20 mm t6 is not defined, since t begins above 24 mm. The error's reason says where the class would be defined.
//
// # How well a value is confirmed
//
// The tables were typed from published copies and compared with limits that other publishers print; the standard's own print was not read.
// Each result names the cells it used, the publishers that print them, and a Status: the weakest of its cells.
package iso286
