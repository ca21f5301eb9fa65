package demo

import (
	"testing"

	"runtrue/internal/hold"
	"runtrue/internal/record"
	"runtrue/internal/sheet"
)

// TestShop reads every entry back as a device would and looks at what the story promises.
func TestShop(t *testing.T) {
	entries, err := Shop(1_795_000_000_000)
	if err != nil {
		t.Fatal(err)
	}
	jobs := map[string]*record.Job{}
	for _, e := range entries {
		again, err := record.Decode(e.Bytes)
		if err != nil {
			t.Fatalf("%s: %v", e.Bytes, err)
		}
		if jobs[e.Job] == nil {
			jobs[e.Job] = record.NewJob(e.Job)
		}
		if _, err := jobs[e.Job].Add(again); err != nil {
			t.Fatal(err)
		}
	}
	shop := record.FoldShop(jobs[record.ShopJob])
	if len(shop.Faults) > 0 || len(shop.People) != 7 || len(shop.Gauges) != 9 {
		t.Errorf("shop: %d people, %d gauges, faults %v", len(shop.People), len(shop.Gauges), shop.Faults)
	}
	want := map[string]map[string]string{ // component → proposal, and "cleared" where it is
		"lf-4071": {"shaft": "decide", "housing": "measure", "spacer-in": "rework", "cover": "measure", "nut": "reuse cleared", "bearing-f1": "decide", "bearing-r": "replace", "drawbar": "reuse cleared", "spacer-out": "reuse"},
		"lf-4066": {"shaft": "reuse cleared", "housing": "reuse cleared", "rotor": "reuse", "bearing-f1": "reuse cleared", "nut": "reuse cleared"},
		"lf-4075": {"shaft": "measure", "housing": "decide", "bearing-f1": "replace"},
	}
	for name, components := range want {
		s := sheet.Build(jobs[name], hold.Overlay{})
		if len(s.WithoutEffect) > 0 {
			t.Errorf("%s: without effect: %+v", name, s.WithoutEffect)
		}
		for _, c := range s.Components {
			got := string(c.Proposal.Action)
			if c.Cleared {
				got += " cleared"
			}
			if w := components[c.ID]; w != "" && w != got {
				t.Errorf("%s %s: %q, want %q: %s; holds %+v", name, c.ID, got, w, c.Proposal.Reason, c.Holds)
			}
		}
	}
}
