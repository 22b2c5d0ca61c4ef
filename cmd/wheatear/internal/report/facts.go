package report

import (
	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/notebook"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/fixture"
)

// EntryBlocks tells the result of an entry as the command that made it does; of one that this
// version does not know, the plain values at its top.
func EntryBlocks(e *notebook.Entry) []block.Block {
	doc, err := result.Read(e.Result)
	if err != nil {
		return tell.Unknown(e.Result)
	}
	if l, ok := doc.(*result.Levels); ok {
		l.Relative = l.Relative || relative(e)
	}
	return tell.Document(doc)
}

// Facts is the same as pages show it.
func Facts(e *notebook.Entry) []Section { return view.Sections(EntryBlocks(e)) }

// relative reports whether levels are relative to full scale, as they are where the jig
// file does not tell its volts.
func relative(e *notebook.Entry) bool {
	d := e.Document(notebook.JigFile)
	if d == nil {
		return false
	}
	jig, err := fixture.ParseJig(d.Name, []byte(d.Text))
	return err == nil && jig.FullScaleVolt == nil
}
