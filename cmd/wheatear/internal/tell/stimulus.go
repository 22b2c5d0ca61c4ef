package tell

import (
	"example.org/wheatear/cmd/wheatear/internal/block"
	"example.org/wheatear/cmd/wheatear/internal/result"
)

// Stimulus tells which tones will be played.
func Stimulus(s *result.Stimulus) []block.Block {
	var tones, mains, harmonic []block.Text
	for _, t := range s.Tones {
		at := block.Say("%v", block.Hz(t.FreqHz))
		if t.FreqHz != t.RequestedHz {
			tones = append(tones, block.Say("%v\u00a0(for\u00a0%v)", at, block.Hz(t.RequestedHz)))
		} else {
			tones = append(tones, at)
		}
		if t.OnMains {
			mains = append(mains, at)
		}
		if t.OnHarmonic {
			harmonic = append(harmonic, at)
		}
	}
	text := []block.Text{block.Say("%v, %v at %v samples per second: %v. Peak %v, crest factor %v", block.Count(len(s.Tones), "tone"), block.Number(s.Seconds, "s", 4),
		block.Number(s.RateHz, "", 7), block.Join(tones, ", "), dbfs(&s.PeakDBFS), block.Number(s.CrestFactor, "", 3))}
	switch {
	case s.TurnS != nil:
		text = append(text, block.Say("On a multiple of the mains: the sign of the tone turns at %v, by which a reading separates hum from the tone. Play and record the file as a whole", block.Number(*s.TurnS, "s", 4)))
	case len(mains) > 0:
		text = append(text, block.Say("On a multiple of the mains, where hum cannot be separated from the tone: %v. A ~ before the frequency lets it move aside", block.Join(mains, ", ")))
	}
	if len(harmonic) > 0 {
		text = append(text, block.Say("On a harmonic of another tone, where distortion cannot be separated from the tone: %v. A ~ before the frequency lets it move aside", block.Join(harmonic, ", ")))
	}
	return []block.Block{block.Paragraphs{Text: text}}
}
