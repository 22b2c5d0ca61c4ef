package cli

import (
	"io"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/html"
	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/finding"
)

// show prints a document: as JSON for programs, else as it is told to people.
func (a *app) show(doc any, told []block.Block, json, full bool) error {
	if json {
		return result.Write(a.out, doc)
	}
	look := text.LookOf(a.stdout)
	look.Full = full
	return text.Write(a.out, told, look)
}

// showDocument is show of a document that is told in one way.
func (a *app) showDocument(doc any, json bool) error {
	return a.show(doc, tell.Document(doc), json, false)
}

// writeReport writes a telling as a report, if that is wanted.
func (a *app) writeReport(file string, told []block.Block) error {
	return a.writePaper(file, func(w io.Writer) error { return html.Write(w, told, a.now()) })
}

// findings tells what recordings showed, beside the result.
func (a *app) findings(list []finding.Finding) {
	_ = text.Write(a.talk, []block.Block{tell.Findings(list)}, text.Look{}) // talk that nobody reads is no loss
}
