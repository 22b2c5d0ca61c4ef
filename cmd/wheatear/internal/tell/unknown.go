package tell

import (
	"encoding/json"
	"maps"
	"slices"
	"strings"

	"example.org/wheatear/cmd/wheatear/internal/block"
)

// Unknown tells the plain values at the top of a document of which no more is known. A
// number may have more digits than can be relied on: it is told with four.
func Unknown(text []byte) []block.Block {
	var doc map[string]any
	if json.Unmarshal(text, &doc) != nil {
		return nil
	}
	var out block.Figures
	for _, key := range slices.Sorted(maps.Keys(doc)) {
		f := block.Figure{Key: key, Name: strings.ReplaceAll(key, "_", " ")}
		switch v := doc[key].(type) {
		case string:
			f.Value = block.Word(v)
		case float64:
			f.Value = block.Number(v, "", 4)
		case bool:
			f.Value = block.Word(map[bool]string{true: "yes", false: "no"}[v])
		case []any:
			f.Value = block.Value{Text: block.Count(len(v), "value")}
		}
		if f.Value.Known() {
			out.List = append(out.List, f)
		}
	}
	return []block.Block{out}
}
