package report

import "math"

// orNull is a number that may not exist.
func orNull(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

// listed turns nil into an empty list, which is what JSON readers expect.
func listed[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}
