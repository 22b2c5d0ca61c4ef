//go:build !race

package virtual

// raceEnabled says that the race detector makes everything slow.
const raceEnabled = false
