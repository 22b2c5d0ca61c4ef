package identify

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"
)

var soak = flag.Bool("soak", false, "run the long statistical tests")

func TestDrawnParts(t *testing.T) { identifyDrawn(t, 1, 1) }

func TestSoakDrawnParts(t *testing.T) {
	if !*soak {
		t.Skip("long; run with -soak")
	}
	identifyDrawn(t, 20, 2)
}

// identifyDrawn asks what parts are of which that is known: 95 % of the families must
// be right, where one is wrong the confidence must be low, and 95 % intervals of the
// values must hold the truth (with room for chance).
func identifyDrawn(t *testing.T, each int, seed uint64) {
	r := rand.New(rand.NewPCG(seed, 7))
	right, total, firm, holding, valued := 0, 0, 0, 0, 0
	for _, family := range families {
		got := map[Family]int{}
		took := time.Duration(0)
		for range each {
			p := draw[family](r)
			begin := time.Now()
			id, err := Of(read(p, r))
			took += time.Since(begin)
			if err != nil {
				t.Errorf("%s: %v", family, err)
				continue
			}
			total++
			got[id.Family]++
			if id.Confidence == High {
				firm++
			}
			if id.Family == family {
				right++
				valued++
				if id.Value.Low <= p.value && p.value <= id.Value.High {
					holding++
				} else {
					t.Logf("%s %.4g: value %v (%s)", family, p.value, id.Value, id.Choice.Fits[0].Name)
				}
				continue
			}
			text := fmt.Sprintf("a %s of %.4g is called %s with %s confidence (%s): %q", family, p.value, id.Family, id.Confidence, id.Choice.Fits[0].Name, id.Reasons)
			if id.Confidence == Low {
				t.Log(text)
			} else {
				t.Error(text)
			}
		}
		t.Logf("%-34s %v %v", family, got, took/time.Duration(each))
	}
	t.Logf("%d of %d right, %d with high confidence; %d of %d intervals hold the value", right, total, firm, holding, valued)
	if float64(right) < 0.95*float64(total) {
		t.Errorf("%d of %d families are right, want 95 %%", right, total)
	}
	if float64(holding) < 0.85*float64(valued) {
		t.Errorf("%d of %d intervals hold the value", holding, valued)
	}
}
