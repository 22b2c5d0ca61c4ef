// Package wiring tells and draws what is connected where, for each pair of
// things that the two channels can carry. Names are those of jig files.
package wiring

import (
	_ "embed"
	"fmt"
	"io"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/lockin/fixture"
)

// cautions come before anything else in the help and in each drawing's file.
//
//go:embed cautions.txt
var cautions string

// Cautions are what everybody reads before connecting anything.
func Cautions() string { return cautions }

// common is what all wirings share.
//
//go:embed common.txt
var common string

// Wiring is one way to connect two inputs.
type Wiring struct {
	Title  string
	First  fixture.Channel // what input 1 carries
	Second fixture.Channel
	Use    string // what it is good for, and what to mind
	Loads  string // which input loads what
	Figure string // for a terminal
	draw   func(*canvas)
}

// All lists the wirings; the sign of a channel and their order make no new one.
func All() []Wiring {
	total := fixture.Channel{Carries: fixture.Total}
	part := fixture.Channel{Carries: fixture.Part}
	reference := fixture.Channel{Carries: fixture.Reference}
	inverted := fixture.Channel{Carries: fixture.Reference, Inverted: true}
	return []Wiring{
		{"Part to ground", total, part,
			"The one to begin with: two resistors and a cable. Good for parts from a thousandth of the reference up " +
				"to what input 2 itself has, often 10 kΩ to 1 MΩ; far beyond, the input hides the part.",
			"Input 2 lies in parallel with the part. Input 1 loads both together and so does not change their ratio.",
			partToGround, drawPartToGround},
		{"Reference to ground", total, reference,
			"For small capacitors and other high impedances, with a reference well below what input 2 itself has.",
			"Input 2 lies in parallel with the reference. Input 1 loads both together and so does not change their ratio.",
			referenceToGround, drawReferenceToGround},
		{"Differential", part, reference,
			"For low impedances: each input has its own pair of wires, which go to the very ends of part and " +
				"reference (sense wires), so that no resistance of leads is in the way. Both inputs must be balanced: " +
				"the sleeve of an ordinary input is ground and would short the part.",
			"Input 1 lies in parallel with the part, input 2 in parallel with the reference.",
			differential, drawDifferential},
		{"Virtual ground", part, inverted,
			"For parts with capacitance to ground, such as long cables: an amplifier holds the lower " +
				"end of the part at 0 V, and nothing flows past it. The amplifier needs a bandwidth of a hundred times " +
				"the test frequency or more, and its own supply, such as two batteries. Its output is the voltage across " +
				"the reference with the opposite sign.",
			"Neither input loads part or reference: input 1 loads the source, input 2 the amplifier.",
			virtualGround, drawVirtualGround},
	}
}

// Slug is the wiring's name in file names.
func (w Wiring) Slug() string { return strings.ReplaceAll(strings.ToLower(w.Title), " ", "-") }

// Text writes the whole topic: cautions first, then the wirings.
func Text(out io.Writer) error {
	var b strings.Builder
	b.WriteString(cautions)
	b.WriteString("\n" + common)
	for _, w := range All() {
		fmt.Fprintf(&b, "\n%s\n\n    channels = [%q, %q]\n\n%s\n", strings.ToUpper(w.Title), w.First, w.Second, w.Figure)
		text.Wrap(&b, "  ", units.Replace(w.Use))
		text.Wrap(&b, "  ", w.Loads)
	}
	b.WriteString("\nInputs may be exchanged if the names in channels are exchanged with them, and a\n" +
		"minus before a name stands for a signal with the opposite sign.\n")
	_, err := io.WriteString(out, b.String())
	return err
}

// units keeps a number and its unit on one line.
var units = strings.NewReplacer(" kΩ", text.Tie(" kΩ"), " MΩ", text.Tie(" MΩ"), " V", text.Tie(" V"))
