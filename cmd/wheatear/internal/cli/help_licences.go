package cli

import (
	"io"
	"slices"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/licences"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
)

// helpLicences lists the modules that are linked with their licences, or prints the
// licence of one in full.
func (a *app) helpLicences(names []string) error {
	list := licences.All()
	switch len(names) {
	case 0:
		t := block.Table{Columns: []block.Column{{Name: "module"}, {Name: "licence"}, {Name: "version", Rank: 1}},
			Notes: []block.Text{block.Say("wheatear help licences MODULE prints the licence of one in full")}}
		for _, m := range list {
			t.Rows = append(t.Rows, block.Row{Cells: []block.Value{block.Word(m.Path), block.Word(m.Licences), block.Word(m.Version)}})
		}
		return text.Write(a.out, []block.Block{t}, text.LookOf(a.stdout))
	case 1:
		i := slices.IndexFunc(list, func(m licences.Module) bool { return m.Path == names[0] })
		if i < 0 {
			return usagef("no module %q is linked; wheatear help licences lists them", names[0])
		}
		_, err := io.WriteString(a.out, list[i].Path+" "+list[i].Version+": "+list[i].Licences+"\n"+list[i].Text)
		return err
	}
	return usagef("one module at a time: wheatear help licences %s", names[0])
}

// moduleNames are those that are linked, for completion.
func moduleNames() (names []string) {
	for _, m := range licences.All() {
		names = append(names, m.Path)
	}
	return names
}
