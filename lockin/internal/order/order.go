// Package order finds single places in the order of numbers, without sorting them.
package order

// Kth returns element k, counted from 0, of v in ascending order. It
// reorders v so that nothing before k is larger and nothing behind it smaller,
// in linear time on average. v must hold no NaN. Reference: C. A. R. Hoare,
// Algorithm 65: find, Comm. ACM 4 (1961) 321.
func Kth(v []float64, k int) float64 {
	low, high := 0, len(v)-1
	for low < high {
		pivot := median3(v[low], v[low+(high-low)/2], v[high])
		i, j := low, high
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i, j = i+1, j-1
			}
		}
		if k <= j {
			high = j
		} else if k >= i {
			low = i
		} else {
			return v[k]
		}
	}
	return v[k]
}

func median3(a, b, c float64) float64 {
	return max(min(a, b), min(max(a, b), c))
}
