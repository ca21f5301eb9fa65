// Package iso492 gives the tolerances of the rings of radial rolling bearings, after ISO 492: what the bore, the outside diameter, the width
// and the running accuracy of a class Normal, 6, 5, 4 or 2 bearing may be. Tapered roller bearings have tables of their own and are not
// covered, nor are the instrument classes (ABEC 5P, 7P, 9P), the thin-section classes, and makers' own classes such as P4S.
//
// # Which number belongs to which ring
//
// An inner ring is looked up by its nominal bore d, an outer ring by its nominal outside diameter D; a step reaches from above its lower
// bound up to and including its upper one, and the first step includes its lower bound. Delta_ stands for a deviation and has two limits;
// V, K and S stand for a variation or a run-out and have a greatest value:
//
//   - inner: Delta_dmp, Delta_ds, Vdsp, Vdmp, Kia, Sd, Sia, Delta_Bs, VBs
//   - outer: Delta_Dmp, Delta_Ds, VDsp, VDmp, Kea, SD, Sea, VCs
//
// Capitals matter: Sd is an inner ring's, SD an outer ring's. [Meaning] says what each symbol stands for. Series is the diameter series the
// value holds for: "7,8,9", "0,1", "2,3,4", "capped …" for sealed or shielded bearings, "single" or "matched" for the width of a bearing
// used alone or made for matched sets, "all" for every series.
//
// # What has no value of its own
//
// The width deviation of an outer ring is that of the inner ring of the same bearing, and so is its width variation VCs in classes Normal
// and 6: look up the inner ring. Sd, Sia, SD and Sea are not specified in Normal and 6; Sia and Sea are for groove ball bearings.
//
// # Two editions of SD
//
// Until the 2002 edition SD was the full reading of the outside surface's inclination to the face; since 2014 it is the perpendicularity of
// that surface's axis to the face, and its value is half. Both are returned, each with its edition. A reading taken as a full run-out is
// never compared with the 2014 limit.
//
// # How well a value is confirmed
//
// The tables were typed from published copies; the standard's own print was not read. Each value carries a [Status], and Memory means that
// no print was read at all: whoever shows such a value says so ([Value.Confirmed] has the words).
package iso492
