package report

import (
	"math"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/render/view"
	"example.org/wheatear/cmd/wheatear/internal/result"
	"example.org/wheatear/cmd/wheatear/internal/tell"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/uncertain"
)

// setting says what a result was measured with.
func (f *facts) setting(jig, calibration, part *string) {
	f.section("Measured with")
	f.fact("part", or(part, ""))
	f.fact("jig", or(jig, ""))
	if jig != nil && *jig != "" {
		f.fact("calibration", or(calibration, "none"))
	}
}

// readings tells readings as a table.
func (f *facts) readings(title string, list []readingDoc) {
	if len(list) == 0 {
		return
	}
	result.SetMain(list, impedance.Element{})
	for _, s := range view.Sections([]block.Block{tell.Readings(list)}) {
		s.Title = title
		f.list = append(f.list, &s)
	}
}

// quantity adds a quantity of which anything is known.
func (f *facts) quantity(name string, q uncertain.Quantity, unit string, remark ...string) {
	if known(q) {
		f.fact(name, neat(short(q, unit)), remark...)
	}
}

// across says what a part was exposed to.
func (f *facts) across(l levelDoc) string {
	var list []string
	if l.PartVRMS != nil {
		list = append(list, f.volts(*l.PartVRMS)+" across it")
	}
	if l.PartARMS != nil && !f.relative {
		list = append(list, uncertain.Format(round3(*l.PartARMS), 0, "A")+" through it")
	}
	if len(list) == 0 {
		return ""
	}
	return strings.Join(list, ", ") + " (rms)"
}

// volts is a level: absolute where full scale is known.
func (f *facts) volts(v float64) string {
	if f.relative && v > 0 {
		return dbfs(v * math.Sqrt2)
	}
	return uncertain.Format(round3(v), 0, "V")
}
