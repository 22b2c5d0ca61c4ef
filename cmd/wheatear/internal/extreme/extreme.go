// Package extreme refuses numbers in files that no measurement gives.
package extreme

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
)

// Most is the largest number that a file may hold, in whatever unit. Squares and
// products of such numbers are still numbers.
const Most = 1e60

// Check looks at every number of a JSON text and says of the first one beyond Most
// where it is. What is no JSON is for its reader to refuse.
func Check(text []byte) error {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	for {
		token, err := d.Token()
		if err != nil {
			return nil
		}
		n, ok := token.(json.Number)
		if !ok {
			continue
		}
		v, err := strconv.ParseFloat(n.String(), 64)
		if err != nil || math.Abs(v) > Most {
			line := 1 + bytes.Count(text[:d.InputOffset()], []byte("\n"))
			return fmt.Errorf("line %d: %s is no figure that was measured: it is beyond %g", line, n, Most)
		}
	}
}
