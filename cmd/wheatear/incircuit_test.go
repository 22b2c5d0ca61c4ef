package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"

	"example.org/wheatear/cmd/wheatear/internal/clitest"
	"example.org/wheatear/lockin/uncertain"
)

// spot is a part in a board: what it is alone, and what lies across it.
type spot struct {
	expect       string
	value        float64
	part, around string
}

// spots are twenty of those that one meets on boards.
var spots = []spot{
	{"100u", 96e-6, "R 0.12 + C 96u", "R 150"},
	{"100u", 104e-6, "R 0.08 + C 104u", ""},
	{"1u", 1.018e-6, "R 0.05 + C 1.018u", "R 10k"},
	{"1u", 0.97e-6, "R 0.5 + C 0.97u", "R 10k // (R 330 + C 2.2u)"},
	{"220n", 214e-9, "R 2 + C 214n", "R 470 + C 1u"},
	{"10n", 9.7e-9, "R 5 + C 9.7n", "R 22k"},
	{"10n", 10.3e-9, "R 5 + C 10.3n", "R 47k + C 4.7n"},
	{"470u", 431e-6, "R 0.06 + C 431u", "R 8 + L 3m"},
	{"47u", 45e-6, "R 0.3 + C 45u", "R 33 + L 20m"},
	{"4.7u", 4.5e-6, "R 1.5 + C 4.5u", "R 2.2k // (R 100 + L 100m)"},
	{"2.2u", 2.15e-6, "R 0.4 + C 2.15u", "R 1k // (R 220 + C 100n)"},
	{"10mH", 10.2e-3, "R 5 + L 10.2m", ""},
	{"10mH", 9.8e-3, "R 5 + L 9.8m", "R 1k"},
	{"100mH", 97e-3, "R 40 + L 97m", "R 2.2k + C 100n"},
	{"22mH", 22.5e-3, "R 12 + L 22.5m", "R 4.7k // (R 680 + C 47n)"},
	{"1mH", 1.03e-3, "R 1 + L 1.03m", "R 47 + C 1u"},
	{"1k", 1003, "R 1003", "R 220 + C 100n"},
	{"4.7k", 4690, "R 4690", "R 1k + C 10n"},
	{"100", 100.4, "R 100.4", "R 15 + L 10m"},
	{"47", 46.8, "R 46.8", "R 10 + C 4.7u"},
}

// spotJig reads from a few hundred milliohm to a hundred kilohm.
const spotJig = `name = "board bench"
channels = ["total", "part"]
reference = "220"
reference_tolerance = "0.1%"
full_scale = "1.4V"
mains = 50
[card]
backend = "virtual"
rate = 48000
seconds = 0.5
level = "-12dBFS"
[virtual]
tray = "tray.toml"
`

// spotTray has every spot, with a silicon junction across it where that is asked for.
func spotTray(noise string, junction bool) string {
	var b strings.Builder
	for i, s := range spots {
		text := "(" + s.part + ")"
		if s.around != "" {
			text += " // (" + s.around + ")"
		}
		fmt.Fprintf(&b, "[[part]]\nname = \"s%d\"\ncircuit = %q\n", i, text)
		if junction {
			b.WriteString("[[part.junction]]\nseries_resistance = \"5\"\n")
		}
	}
	fmt.Fprintf(&b, "[jig]\nreference = \"220\"\ncontact_spread = \"0.5m\"\nfixture_spread = \"0.02p\"\n[faults]\nlatency_frames = 500\nnoise = [%q, %q]\ngain = [0, \"3m\"]\ndelay_samples = [0, 0.2]\nbits = 24\n", noise, noise)
	return b.String()
}

// Twenty spots under three conditions, read by the program on the simulated jig: what
// it says of the part holds, or it says that it cannot be told.
func TestSoakPartsInCircuit(t *testing.T) {
	if !*soak {
		t.Skip("long; run with -soak")
	}
	inside, told, useful, all := 0, 0, 0, 0
	for _, c := range []struct {
		name, noise string
		junction    bool
	}{{"quiet", "4u", false}, {"noisy", "40u", false}, {"junction", "4u", true}} {
		dir := files(t, map[string]string{"jig.toml": spotJig, "tray.toml": spotTray(c.noise, c.junction)})
		done(t, dir, "calibrate", "--jig", "jig.toml", "--at", "20..20k/25", "--load", "220/0.1%", "--out", "cal.json")
		for i, s := range spots {
			cmd, out, talk := program(dir, "incircuit", "--jig", "jig.toml", "--calibration", "cal.json", "--expect", s.expect, "--part", fmt.Sprintf("s%d", i), "--json")
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			if status := ran(t, cmd); status != 0 && status != 3 {
				t.Fatalf("%s, %s: exit status %d: %s", s.part, c.name, status, talk)
			}
			var got struct {
				Told  bool
				Why   string
				Value *uncertain.Quantity
			}
			if err := errors.Join(clitest.ConformsText(out.Bytes()), json.Unmarshal(out.Bytes(), &got)); err != nil {
				t.Fatal(err)
			}
			all++
			if !got.Told {
				inside++
				t.Logf("%s // %s, %s: not told: %s", s.part, s.around, c.name, got.Why)
				continue
			}
			told++
			if got.Value.Low <= s.value && s.value <= got.Value.High {
				inside++
			} else {
				t.Logf("%s // %s, %s: %.5g to %.5g does not hold %.5g", s.part, s.around, c.name, got.Value.Low, got.Value.High, s.value)
			}
			if (got.Value.High-got.Value.Low)/2/got.Value.Value < 0.2 {
				useful++
			}
		}
	}
	t.Logf("%d of %d hold, %d told, %d of them within 20 %%", inside, all, told, useful)
	if inside < 52 || useful < 30 {
		t.Errorf("too few of %d: %d hold, %d are of use", all, inside, useful)
	}
}
