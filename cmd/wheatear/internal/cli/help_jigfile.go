package cli

import (
	"fmt"
	"io"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/lockin/fixture"
)

// exampleJig is the shortest jig file with everything that most people want.
const exampleJig = `A jig file says how the jig is wired and what is known of it (TOML):

    name = "kitchen-table jig"
    channels = ["total", "part"]      # see wheatear help wiring
    reference = "1k"
    reference_tolerance = "0.1%"
    full_scale = "1.2V"               # for levels in volt and ampere

Values are written as the trade does: 4k7, 0.22u, 100n, R47. The keys:

`

// jigHelp tells what a jig file may hold and what is assumed where it is silent.
// Keys, defaults and assumptions are those that the program uses.
func jigHelp(w io.Writer) {
	fmt.Fprint(w, exampleJig)
	for _, k := range fixture.JigKeys() {
		about := k.About
		switch {
		case k.Needed:
			about += " (needed)"
		case k.Default != "":
			about += " (default " + text.Tie(k.Default) + ")"
		}
		name, section := k.Key, ""
		if s, rest, ok := strings.Cut(k.Key, "."); ok {
			name, section = rest, "["+s+"] "
		}
		fmt.Fprintf(w, "  %s%s\n", section, name)
		text.Wrap(w, "      ", about)
	}
	fmt.Fprintln(w, "\nWhat is assumed where neither the file nor a standard settles it:")
	fmt.Fprintln(w)
	for _, p := range fixture.Priors() {
		text.Wrap(w, "  ", p.What+", "+p.Where+":")
		text.Wrap(w, "      ", text.Tie(p.Assumed))
	}
}
