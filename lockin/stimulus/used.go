package stimulus

import "math"

// UsedSeconds is about how much Analyze uses of a single tone that stands for some
// seconds, for plans: the ends within some three quarters of the window through which
// it looks at the level (three periods, 4 ms and more) are left away, as a fade may
// still be going on there. A tone that stands for a short time only is taken to lose a
// quarter.
func UsedSeconds(standsS, hz float64) float64 {
	return math.Max(0.75*standsS, standsS-math.Max(0.0085, 4.5/hz))
}
