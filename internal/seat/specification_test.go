package seat_test

import (
	"errors"
	"reflect"
	"strings"
	"testing"

	"runtrue/internal/length"
	"runtrue/internal/seat"
	"runtrue/internal/spindle"
)

func propose(t *testing.T, r seat.Request) []seat.Proposal {
	t.Helper()
	all, err := seat.Propose(r)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// journal is an invented front journal of which the drawing gives nothing but the nominal size.
func journal() spindle.Specification {
	return spindle.Specification{Feature: "J1", Component: "shaft", Name: "front bearing journal", Geometry: spindle.Outside, Nominal: 70 * mm, Source: spindle.FromDrawing}
}

func TestCharacteristicsExpressProposals(t *testing.T) {
	half := 1500 * length.Nanometre
	upper, lower, two, three, minusThree := 2*um, -3*um, 2*um, 3*um, -3*um
	datum := []string{"J1", "J2"}
	for _, c := range []struct {
		request seat.Request
		g       spindle.Geometry
		want    []spindle.Characteristic
		left    string // the characteristics left, in order
	}{
		{seat.Request{Part: seat.Shaft, Maker: "SKF"}, spindle.Outside, []spindle.Characteristic{
			{Name: spindle.Size, Upper: &upper, Lower: &lower, Required: true}, {Name: spindle.TotalRunOut, Max: &half, Datum: datum, Required: true}}, ""},
		{seat.Request{Part: seat.Shaft, Maker: "SKF"}, spindle.Face, []spindle.Characteristic{{Name: spindle.Perpendicular, Max: &two, Datum: datum, Required: true}}, ""},
		{seat.Request{Part: seat.Shaft, Maker: "Timken"}, spindle.Outside, []spindle.Characteristic{
			{Name: spindle.Roundness, Max: &three, Required: true}, {Name: spindle.TaperChar, Lower: &minusThree, Upper: &three, Required: true}},
			"concentricity of the two journals, roughness Ra"},
		{seat.Request{Part: seat.Shaft, Maker: "FAG"}, spindle.Face, []spindle.Characteristic{{Name: spindle.AxialRunOut, Max: &two, Datum: datum, Required: true}}, "flatness of abutment"},
		{seat.Request{Part: seat.InnerSpacer, Maker: "FAG"}, spindle.Thickness, []spindle.Characteristic{{Name: spindle.Parallelism, Max: &two, Required: true}}, "axial run-out of faces"},
		{seat.Request{Part: seat.InnerSpacer, Maker: "NTN-SNR"}, spindle.Thickness, []spindle.Characteristic{{Name: spindle.Parallelism, Max: &two, Required: true}}, "difference in length of the pair"},
		{seat.Request{Part: seat.Shaft, Maker: "FAG"}, spindle.Inside, nil, ""}, // a shaft has no bore
	} {
		c.request.Nominal, c.request.Class = 70*mm, "4"
		made, left, err := seat.Characteristics(propose(t, c.request), c.g, datum)
		var names []string
		for _, p := range left {
			names = append(names, p.Characteristic)
		}
		if err != nil || !reflect.DeepEqual(made, c.want) || strings.Join(names, ", ") != c.left {
			t.Errorf("%s %s on %s: %+v, left %q, %v; want %+v, left %q", c.request.Part, c.request.Maker, c.g, made, names, err, c.want, c.left)
		}
	}
}

func TestCharacteristicsRefuseMixtures(t *testing.T) {
	for _, c := range []struct {
		request seat.Request
		g       spindle.Geometry
		want    error
		says    string
	}{
		{seat.Request{Part: seat.Shaft, Class: "4"}, spindle.Outside, seat.ErrMixed, "name one maker"},
		{seat.Request{Part: seat.Shaft, Class: "4", Maker: "NTN-SNR"}, spindle.Outside, seat.ErrAmbiguous, "the load"},
		{seat.Request{Part: seat.Housing, Class: "4", Maker: "SKF"}, spindle.Inside, seat.ErrAmbiguous, "name the position"},
		{seat.Request{Part: seat.Shaft, Class: "Normal", Maker: "SKF"}, spindle.Face, seat.ErrAmbiguous, "the demand"},
	} {
		c.request.Nominal = 70 * mm
		made, left, err := seat.Characteristics(propose(t, c.request), c.g, nil)
		if !errors.Is(err, c.want) || made != nil || left != nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v on %s: %+v, %+v, %v; want %v saying %q", c.request, c.g, made, left, err, c.want, c.says)
		}
		if _, _, err := seat.Complete(spindle.Specification{Geometry: c.g}, propose(t, c.request), nil); !errors.Is(err, c.want) {
			t.Errorf("%+v on %s: Complete says %v; want %v", c.request, c.g, err, c.want)
		}
	}
}

func TestCompleteKeepsTheDrawing(t *testing.T) {
	proposals := propose(t, seat.Request{Part: seat.Shaft, Nominal: 70 * mm, Class: "4", Maker: "FAG"})

	// Nothing on the drawing: all of it is proposed, and says so.
	silent := journal()
	got, left, err := seat.Complete(silent, proposals, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got.Source != spindle.FromProposal || got.Accepted() || !strings.HasPrefix(got.Reference, "proposed from FAG, ") || !strings.HasSuffix(got.Reference, ", not from the drawing") {
		t.Errorf("source %q, accepted %t, reference %q", got.Source, got.Accepted(), got.Reference)
	}
	if size, _ := got.Characteristic(spindle.Size); size.Class != "js4" || len(got.Characteristics) != 2 || len(left) != 2 || len(silent.Characteristics) != 0 {
		t.Errorf("characteristics %+v, left %+v, and the given one has %d", got.Characteristics, left, len(silent.Characteristics))
	}
	if err := got.Check(); err != nil {
		t.Error(err)
	}

	// The drawing's own size stays; the form is added, so the whole waits for an inspector again.
	drawn := journal()
	drawn.Characteristics = []spindle.Characteristic{{Name: spindle.Size, Class: "k4", Required: true}}
	drawn.Reference, drawn.AcceptedBy = "SD-4471", "M. Inspector"
	got, _, err = seat.Complete(drawn, proposals, nil)
	if err != nil {
		t.Fatal(err)
	}
	size, _ := got.Characteristic(spindle.Size)
	roundness, found := got.Characteristic(spindle.Roundness)
	if size.Class != "k4" || !found || *roundness.Max != 1200*length.Nanometre || got.AcceptedBy != "" || got.Accepted() || !strings.HasPrefix(got.Reference, "SD-4471; proposed from FAG, ") {
		t.Errorf("%+v", got)
	}
	if strings.Count(got.Reference, "proposed from") != 1 {
		t.Errorf("reference %q names a source that gave nothing", got.Reference)
	}

	// Where the drawing says it all, nothing changes and it stays the drawing's.
	limit := 3 * um
	drawn.Characteristics = append(drawn.Characteristics, spindle.Characteristic{Name: spindle.Roundness, Max: &limit, Required: true})
	got, _, err = seat.Complete(drawn, proposals, nil)
	if err != nil || !reflect.DeepEqual(got, drawn) {
		t.Errorf("%+v, %v; want it unchanged", got, err)
	}
}
