package portaudio

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"example.org/wheatear/audio"
)

// lostAtLeast is how much later than before a stream must stay after a late call
// for frames to count as missing. A driver's bunching of calls moves the floor by
// up to 0.05 s.
const lostAtLeast = 80 * time.Millisecond

// judgedCalls is how many calls must follow a late one before it can be told
// whether its frames still came: a backlog arrives in the first few.
const judgedCalls = 10

// events turns what the calls told into events of a record of so many frames, in
// order of place.
func (t *take) events(frames int64) []audio.Event {
	out := append(t.in.events("input", t.perSecond), t.out.events("output", t.perSecond)...)
	out = slices.DeleteFunc(out, func(e audio.Event) bool { return e.Frame > frames })
	slices.SortStableFunc(out, func(a, b audio.Event) int { return cmp.Compare(a.Frame, b.Frame) })
	return out
}

// events lists the log of one direction.
func (s *side) events(what string, perSecond float64) []audio.Event {
	log := s.log[:s.logged.Load()]
	var out []audio.Event
	for i, e := range log {
		if e.late == 0 {
			out = append(out, e.flagged()...)
			continue
		}
		lost, known := s.lost(log[i+1:], e)
		out = append(out, e.lateEvent(what, lost, known, perSecond))
	}
	if more := s.more.Load(); more > 0 {
		out = append(out, audio.Event{Kind: audio.Remark, Frame: -1,
			Detail: fmt.Sprintf("%d further reports about the %s are not listed", more, what)})
	}
	return out
}

// lost tells how much time the stream stayed behind after the late call e, given
// the log after it, and whether enough calls followed to know.
func (s *side) lost(after []entry, e entry) (time.Duration, bool) {
	for _, next := range after {
		if next.late > 0 {
			return next.floor - e.floor, true
		}
	}
	return time.Duration(s.floor.Load()) - e.floor, s.since.Load() >= judgedCalls
}

// lateEvent is a gap where frames stayed away, else a remark: a server that keeps
// what comes while nobody asks delivers all of it later.
func (e entry) lateEvent(what string, lost time.Duration, known bool, perSecond float64) audio.Event {
	detail := fmt.Sprintf("the %s was served %.2f s after the time before", what, e.late.Seconds())
	switch {
	case !known:
		detail += "; whether samples were lost cannot be told from the driver"
	case lost > lostAtLeast && what == "input":
		return audio.Event{Kind: audio.Gap, Frame: e.frame,
			Detail: fmt.Sprintf("%s; about %.0f frames never came", detail, lost.Seconds()*perSecond)}
	case lost > lostAtLeast:
		return audio.Event{Kind: audio.Underflow, Frame: e.frame,
			Detail: fmt.Sprintf("%s; about %.0f frames were played late", detail, lost.Seconds()*perSecond)}
	default:
		detail += ", and the driver had kept everything"
	}
	return audio.Event{Kind: audio.Remark, Frame: e.frame, Detail: detail}
}

// flagged turns the bits of one call into events.
func (e entry) flagged() []audio.Event {
	var out []audio.Event
	add := func(kind audio.EventKind, parts ...string) {
		if len(parts) > 0 {
			out = append(out, audio.Event{Kind: kind, Frame: e.frame,
				Detail: "the driver reports " + strings.Join(parts, " and ") + "; a hint, not a proof"})
		}
	}
	add(audio.Overflow, pick(e.flags, inputOverflow, "input lost", outputOverflow, "output thrown away")...)
	add(audio.Underflow, pick(e.flags, inputUnderflow, "no input to give", outputUnderflow, "no output to play")...)
	return out
}

// pick returns the words whose bits are set.
func pick(f, bit1 flags, word1 string, bit2 flags, word2 string) []string {
	var out []string
	if f&bit1 != 0 {
		out = append(out, word1)
	}
	if f&bit2 != 0 {
		out = append(out, word2)
	}
	return out
}
