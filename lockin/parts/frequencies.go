package parts

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// maxFrequencies is the largest number of frequencies in one request.
const maxFrequencies = 10000

// Frequencies lie between these. Below, one cycle is longer than any recording made
// here; above, no sound card plays.
const (
	leastFreqHz = 0.01
	mostFreqHz  = 10e6
)

// FrequencyRequest is one frequency that somebody wants to measure at.
type FrequencyRequest struct {
	FreqHz  float64 // 0 where All is set
	Movable bool    // may be moved a little to a better one
	All     bool    // every tone that the recording holds; it stands alone
}

// ParseFrequencies reads the notation of test frequencies.
//
//	1k            that frequency
//	~1k           it, or one close by that is better
//	100,1k,10k    a list
//	20..20k/31    31 points from 20 Hz to 20 kHz, logarithmic, movable
//	all           the tones that are found in a recording
//
// The order is kept. The comma parts the entries, so that only a point or a
// letter can be the decimal mark here (see CommaMeant). Errors are *SyntaxError:
// frequencies that are negative or not between 0.01 Hz and 10 MHz, the same
// one twice, a range that does not rise, and more than 10 000 of them.
func ParseFrequencies(text string) ([]FrequencyRequest, error) {
	if err := checkText(text); err != nil {
		return nil, err
	}
	if strings.EqualFold(strings.Trim(text, spaces), "all") {
		return []FrequencyRequest{{All: true}}, nil
	}
	var out []FrequencyRequest
	seen := map[float64]bool{}
	column := 1
	for _, item := range strings.Split(text, ",") {
		found, err := frequencyItem(item)
		if err == nil {
			err = checkRepeats(item, found, len(out), seen)
		}
		if err != nil {
			return nil, relocate(err, text, column)
		}
		out = append(out, found...)
		column += len([]rune(item)) + 1
	}
	return out, nil
}

// relocate turns an error about one item into one about the whole text.
func relocate(err error, text string, column int) error {
	if e, ok := err.(*SyntaxError); ok {
		return &SyntaxError{Text: text, Column: e.Column + column - 1, Reason: e.Reason}
	}
	return err
}

// frequencyItem reads one entry of the list.
func frequencyItem(item string) ([]FrequencyRequest, error) {
	s := newScanner(item, Hertz)
	if strings.EqualFold(strings.Trim(item, spaces), "all") {
		return nil, s.errorf("all stands alone: leave the other frequencies out")
	}
	movable := s.takeAny("~")
	low, high, isRange := strings.Cut(item, "..")
	if isRange {
		return frequencyRange(item, low, high)
	}
	f, err := frequency(item, s.pos, string(s.runs[s.pos:]))
	if err != nil {
		return nil, err
	}
	return []FrequencyRequest{{FreqHz: f, Movable: movable}}, nil
}

// frequency reads text, which begins in item behind the first skip characters.
func frequency(item string, skip int, text string) (float64, error) {
	f, err := ParsePositive(text, Hertz)
	switch {
	case err != nil:
		return 0, relocate(err, item, skip+1)
	case f < leastFreqHz:
		reason := fmt.Sprintf("%s is too low: one cycle lasts %s, longer than any recording; %g Hz is the least (m is milli, u micro, M mega)",
			Words(f, Hertz), Words(1/f, Second), leastFreqHz)
		return 0, &SyntaxError{Text: item, Column: skip + 1, Reason: reason}
	case f > mostFreqHz:
		return 0, &SyntaxError{Text: item, Column: skip + 1, Reason: fmt.Sprintf("%s is more than any sound card can play", Words(f, Hertz))}
	}
	return f, nil
}

// CommaMeant returns what a request would be with its comma as the decimal mark, where
// it may have been meant so: "1.5k" for "1,5k", which is a list of 1 Hz and 5 kHz.
func CommaMeant(text string) (meant string, ok bool) {
	items := strings.Split(text, ",")
	if len(items) != 2 {
		return "", false
	}
	low, high := strings.Trim(items[0], spaces), strings.Trim(items[1], spaces)
	whole := strings.TrimPrefix(low, "~")
	if whole == "" || len(whole) > 3 || strings.Trim(whole, "0123456789") != "" || high == "" || !isDigit(rune(high[0])) {
		return "", false
	}
	lowHz, err := ParsePositive(whole, Hertz)
	if err != nil || lowHz >= lowestHeardHz {
		return "", false
	}
	meant = low + "." + high
	_, err = ParseFrequencies(meant)
	return meant, err == nil
}

// lowestHeardHz is where the range of sound cards begins (common practice, no source):
// whoever writes a lower frequency has seldom meant it.
const lowestHeardHz = 20

// frequencyRange reads low..high/points. A ~ before low is allowed: the points
// of a range may be moved in any case.
func frequencyRange(item, low, rest string) ([]FrequencyRequest, error) {
	high, count, counted := strings.Cut(rest, "/")
	highAt := len([]rune(low)) + 2
	countAt := highAt + len([]rune(high)) + 1
	lowText := strings.TrimPrefix(strings.TrimLeft(low, spaces), "~")
	lowHz, err := frequency(item, len([]rune(low))-len([]rune(lowText)), lowText)
	if err != nil {
		return nil, err
	}
	highHz, err := frequency(item, highAt, high)
	if err != nil {
		return nil, err
	}
	if !counted {
		return nil, &SyntaxError{Text: item, Column: countAt, Reason: "how many points? write the range as 20..20k/31"}
	}
	if !(highHz > lowHz) {
		return nil, &SyntaxError{Text: item, Column: highAt + 1, Reason: "a range rises: write the lower frequency first"}
	}
	n, err := strconv.Atoi(strings.Trim(count, spaces))
	if err != nil || n < 2 || n > maxFrequencies {
		reason := fmt.Sprintf("%q is not a number of points from 2 to %d", shorten(count), maxFrequencies)
		return nil, &SyntaxError{Text: item, Column: countAt + 1, Reason: reason}
	}
	return logarithmic(lowHz, highHz, n), nil
}

// logarithmic spaces n points evenly in the logarithm; the ends are exact.
func logarithmic(lowHz, highHz float64, n int) []FrequencyRequest {
	out := make([]FrequencyRequest, n)
	step := (math.Log(highHz) - math.Log(lowHz)) / float64(n-1)
	for i := range out {
		out[i] = FrequencyRequest{FreqHz: lowHz * math.Exp(float64(i)*step), Movable: true}
	}
	out[n-1].FreqHz = highHz
	return out
}

// checkRepeats refuses a frequency that was asked for already, and too many.
func checkRepeats(item string, found []FrequencyRequest, before int, seen map[float64]bool) error {
	if before+len(found) > maxFrequencies {
		return &SyntaxError{Text: item, Column: 1, Reason: fmt.Sprintf("more than %d frequencies", maxFrequencies)}
	}
	for _, r := range found {
		if seen[r.FreqHz] {
			return &SyntaxError{Text: item, Column: 1, Reason: fmt.Sprintf("%g Hz is asked for twice: leave one out", r.FreqHz)}
		}
		seen[r.FreqHz] = true
	}
	return nil
}
