package spectrum

import "math"

// AmplitudeDB returns a ratio of amplitudes in decibels, 20 log10.
func AmplitudeDB(ratio float64) float64 { return 20 * math.Log10(ratio) }

// PowerDB returns a ratio of powers in decibels, 10 log10.
func PowerDB(ratio float64) float64 { return 10 * math.Log10(ratio) }
