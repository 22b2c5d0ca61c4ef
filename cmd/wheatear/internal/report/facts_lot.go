package report

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"example.org/wheatear/lockin/uncertain"
)

// sortedKeys are the keys of a map in their order.
func sortedKeys[V any](m map[string]V) []string {
	var keys []string
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

func (f *facts) plan(result json.RawMessage) {
	doc := decode[planningDoc](result)
	f.section("")
	f.fact("for", doc.Part, nonempty(doc.Meant)...)
	if doc.Wanted != nil {
		f.fact("wanted", wish(*doc.Wanted))
	}
	if len(doc.Choices) == 0 {
		f.say("No choice was found")
	} else {
		f.choice(&doc.Choices[0])
	}
	for _, r := range doc.Remedies {
		f.fact("better", r.Words)
	}
	f.others(doc)
	f.section("The jig")
	f.fact("name", doc.Jig)
	if doc.ReferenceOhm > 0 {
		f.fact("reference", uncertain.Format(doc.ReferenceOhm, 0, "Ω"))
	}
	if doc.Assumed != "" {
		f.say("Assumed: " + doc.Assumed)
	}
}

// nonempty is a text as a list, which is empty where there is none.
func nonempty(text string) []string {
	if text == "" {
		return nil
	}
	return []string{text}
}

// choice tells the first of a plan.
func (f *facts) choice(c *choiceDoc) {
	w := c.Words
	f.fact("frequency", w.Frequency, nonempty(w.Why)...)
	f.fact("reference", w.Reference)
	f.fact("level", w.AtPart)
	f.fact("record", w.Record)
	f.fact("read as", w.ReadAs)
	f.fact("comes to", w.HalfWidth, nonempty(other(w.Verdict, w.HalfWidth))...)
	var limits []string
	for _, l := range c.Limits[:min(3, len(c.Limits))] {
		limits = append(limits, l.Source.Source+" ("+percent(l.Share)+")")
	}
	f.fact("limited by", strings.Join(limits, ", "))
	for _, text := range c.Changes {
		f.fact("first", strings.TrimSuffix(text, "."))
	}
	for _, text := range c.Warnings {
		f.fact("mind", strings.TrimSuffix(text, "."))
	}
}

// other is a text, unless it says no more than another.
func other(text, than string) string {
	if text == than {
		return ""
	}
	return text
}

// others are the choices of a plan that come after the first.
func (f *facts) others(doc *planningDoc) {
	if len(doc.Choices) < 2 {
		return
	}
	f.section("Other choices")
	rows := [][]string{{"reference", "frequency", "comes to", "limited by"}}
	for _, c := range doc.Choices[1:min(planLines, len(doc.Choices))] {
		source := ""
		if len(c.Limits) > 0 {
			source = c.Limits[0].Source.Source
		}
		rows = append(rows, []string{c.Words.Reference, c.Words.Frequency, c.Words.HalfWidth, source})
	}
	f.table(rows)
}

// unknown tells the plain values at the top of a document of which no more is known. A
// number may have more digits than can be relied on: it is told with four.
func (f *facts) unknown(result json.RawMessage) {
	doc := *decode[map[string]any](result)
	f.section("")
	for _, key := range sortedKeys(doc) {
		name := strings.ReplaceAll(key, "_", " ")
		switch v := doc[key].(type) {
		case string:
			f.fact(name, v)
		case float64:
			f.fact(name, strconv.FormatFloat(v, 'g', 4, 64))
		case bool:
			f.fact(name, map[bool]string{true: "yes", false: "no"}[v])
		case []any:
			f.fact(name, plural(len(v), "value"))
		}
	}
}
