package uncertain

import "fmt"

// Merge appends the inputs of other that are not in the list yet, and returns for each
// of other's inputs its index here. same(i) is the index here of what is the very same
// quantity as input i of other, or −1; inputs of one joint block are the same together
// or not at all; a nil same knows none. Estimate and uncertainty of such an input stay as they are here.
func (in *Inputs) Merge(other *Inputs, same func(i int) int) []int {
	if other == nil {
		return nil
	}
	index := make([]int, other.Len())
	for _, g := range other.groups {
		known := 0
		for k := range g.n {
			index[g.first+k] = -1
			if same != nil {
				index[g.first+k] = same(g.first + k)
			}
			if index[g.first+k] >= 0 {
				known++
			}
		}
		if known == g.n {
			continue
		}
		copied := g
		copied.first = len(in.values)
		var err error
		if known > 0 {
			err = fmt.Errorf("%d of %d inputs of a joint block are known, want all or none", known, g.n)
		}
		in.keep(copied, err, other.values[g.first:g.first+g.n]...)
		for k := range g.n {
			index[g.first+k] = copied.first + k
		}
	}
	if in.err == nil {
		in.err = other.err
	}
	return index
}
