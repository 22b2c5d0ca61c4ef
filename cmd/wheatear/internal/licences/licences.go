// Package licences has the licences of the modules that are linked into the program, on
// any system. The list is generated from the modules themselves:
// go test ./cmd/wheatear/internal/licences -update.
package licences

import (
	_ "embed"
	"strings"
)

//go:embed linked.txt
var linked string

// Module is one that is linked.
type Module struct {
	Path, Version string
	Licences      string // by their SPDX names
	Text          string // in full
}

// mark begins a module in the list; no licence has such a line.
const mark = "\n=== module "

// All lists the modules by path.
func All() (list []Module) {
	for _, piece := range strings.Split("\n"+linked, mark)[1:] {
		head, text, _ := strings.Cut(piece, "\n")
		m := Module{Text: text}
		m.Path, head, _ = strings.Cut(head, " ")
		m.Version, m.Licences, _ = strings.Cut(head, " ")
		list = append(list, m)
	}
	return list
}
