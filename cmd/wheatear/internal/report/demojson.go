package report

import (
	"io"

	"example.org/wheatear/lockin/uncertain"
)

// demoDoc is the schema wheatear.demo/1.
type demoDoc struct {
	Schema   string           `json:"schema"`
	Folder   string           `json:"folder"`
	Readings []demoReadingDoc `json:"readings"`
}

type demoReadingDoc struct {
	Part    string             `json:"part"`
	FreqHz  float64            `json:"frequency_hz"`
	Unit    string             `json:"unit"`
	Truth   *float64           `json:"truth"`
	Reading uncertain.Quantity `json:"reading"`
	Holds   bool               `json:"holds"`
}

// DemoJSON writes the readings of a demo for programs.
func DemoJSON(w io.Writer, folder string, d *Demo) error {
	doc := demoDoc{Schema: "wheatear.demo/1", Folder: folder, Readings: []demoReadingDoc{}}
	for _, r := range d.Rows {
		read, truth, unit, ok := r.compared()
		if !ok {
			read, truth = uncertain.Absent(), uncertain.Absent()
		}
		doc.Readings = append(doc.Readings, demoReadingDoc{r.Part, r.NominalHz, unit, orNull(truth.Value), read, r.Holds()})
	}
	return writeJSON(w, doc)
}
