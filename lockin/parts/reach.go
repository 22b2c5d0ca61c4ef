package parts

import (
	"fmt"
	"strings"
)

// What sound cards reach (common practice, no source): 20 Hz to 20 kHz, and up to
// 80 kHz at 192,000 samples per second.
const (
	CardLowHz  = 20
	CardHighHz = 20e3
	cardMostHz = 80e3
)

// Reachable returns those frequencies of the condition that lie from lowHz to
// highHz, in their order.
func (c Condition) Reachable(lowHz, highHz float64) []float64 {
	var out []float64
	for _, f := range c.FreqsHz {
		if f >= lowHz && f <= highHz {
			out = append(out, f)
		}
	}
	return out
}

// Beyond says why a card that reaches from lowHz to highHz cannot measure under
// this condition, and what to do; "" where it can.
func (c Condition) Beyond(lowHz, highHz float64) string {
	if len(c.FreqsHz) == 0 || len(c.Reachable(lowHz, highHz)) > 0 {
		return ""
	}
	var list []string
	for _, f := range c.FreqsHz {
		list = append(list, frequencyWords(f))
	}
	reach := fmt.Sprintf("%s to %s", Words(lowHz, Hertz), Words(highHz, Hertz))
	what := "a reading within that is not what the standard means"
	if most := c.Reachable(lowHz, cardMostHz); len(most) > 0 {
		what = fmt.Sprintf("%s takes a card with 192,000 samples per second", frequencyWords(most[0]))
	}
	return fmt.Sprintf("asks for %s, beyond a sound card (%s): %s", strings.Join(list, " or "), reach, what)
}

func frequencyWords(freqHz float64) string {
	if freqHz == 0 {
		return "direct current"
	}
	return Words(freqHz, Hertz)
}
