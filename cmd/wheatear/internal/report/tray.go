package report

import (
	"bytes"
	"io"

	"example.org/wheatear/audio/virtual"
)

// Tray lists what can be put into the simulated jig.
func Tray(w io.Writer, list []virtual.Part) error {
	var b bytes.Buffer
	longest := 0
	for _, p := range list {
		longest = max(longest, width(p.Name))
	}
	for _, p := range list {
		Wrap(&b, padRight(p.Name, longest)+"  ", contents(p))
	}
	_, err := w.Write(b.Bytes())
	return err
}

// contents says in a line what a part is.
func contents(p virtual.Part) string {
	text := p.Circuit
	if text == "" && p.Note == "" {
		text = "described by elements of its own"
	}
	if text != "" && p.Note != "" {
		return text + " – " + p.Note
	}
	return text + p.Note
}

// trayDoc is the schema wheatear.simulate/1.
type trayDoc struct {
	Schema string     `json:"schema"`
	Parts  []trayPart `json:"parts"`
}

type trayPart struct {
	Name    string `json:"name"`
	Circuit string `json:"circuit"`
	Note    string `json:"note"`
}

// TrayJSON writes the same for programs.
func TrayJSON(w io.Writer, list []virtual.Part) error {
	doc := trayDoc{Schema: "wheatear.simulate/1", Parts: []trayPart{}}
	for _, p := range list {
		doc.Parts = append(doc.Parts, trayPart{p.Name, p.Circuit, p.Note})
	}
	return writeJSON(w, doc)
}
