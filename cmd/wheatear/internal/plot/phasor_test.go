package plot

import (
	"bytes"
	"errors"
	"testing"

	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

func TestPhasorsAreDrawn(t *testing.T) {
	for name, z := range map[string]complex128{
		"phasor-capacitor": complex(40, -723), "phasor-inductor": complex(120, 400), "phasor-resistor": complex(820, 3),
		"phasor-edge": complex(500, -500), "phasor-negative": complex(-5, -100), "phasor-tiny": complex(1e-3, 2e-4),
	} {
		p := &Phasor{Title: "C3 at 1 kHz", Note: "kitchen-table jig", Reading: point(1000, z, 0.03).Reading,
			Value: "220.1 nF ± 0.3 nF", Parts: [2]string{"3.2 Ω ± 0.4 Ω", "−723 Ω ± 1 Ω"}}
		p.Reading.Correlation = 0.3
		for _, format := range []Format{SVG, PNG} {
			var b bytes.Buffer
			if err := DrawPhasor(&b, p, format); err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			checkPicture(t, name, b.Bytes(), format)
			keepPicture(t, name+"."+string(format), b.Bytes())
		}
	}
	void := &Phasor{Reading: impedance.Void(uncertain.Absent())}
	if err := DrawPhasor(&bytes.Buffer{}, void, SVG); !errors.Is(err, ErrNothing) {
		t.Errorf("nothing to draw: %v", err)
	}
}
