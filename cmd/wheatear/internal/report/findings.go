package report

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"example.org/wheatear/lockin/finding"
)

// Findings tells a person what the records showed, gravest first, each with what
// to do. What several records or tones have in common is told once.
func Findings(w io.Writer, findings []finding.Finding) {
	for _, g := range ranked(findings) {
		head := padRight(string(g.first.Severity), 9)
		about := strings.TrimSpace(string(g.first.Code) + " " + where(g.first))
		Wrap(w, head, about+": "+sentence(g.first.Detail)+g.others())
		if advice := g.first.Advice; advice != "" && advice != nothingToDo {
			Wrap(w, strings.Repeat(" ", 9)+"→ ", sentence(advice))
		}
	}
}

// nothingToDo is an advice that need not be given.
const nothingToDo = "nothing to do"

// findingGroup is findings of one code and severity that give the same advice.
type findingGroup struct {
	first finding.Finding
	more  []finding.Finding
}

func groupFindings(findings []finding.Finding) []findingGroup {
	var groups []findingGroup
	for _, f := range findings {
		i := slices.IndexFunc(groups, func(g findingGroup) bool {
			return g.first.Code == f.Code && g.first.Severity == f.Severity && g.first.Advice == f.Advice
		})
		if i < 0 {
			groups = append(groups, findingGroup{first: f})
		} else {
			groups[i].more = append(groups[i].more, f)
		}
	}
	return groups
}

// ranked are the groups, gravest first.
func ranked(findings []finding.Finding) []findingGroup {
	groups := groupFindings(findings)
	rank := map[finding.Severity]int{finding.Invalid: 0, finding.Warning: 1, finding.Note: 2}
	slices.SortStableFunc(groups, func(a, b findingGroup) int { return rank[a.first.Severity] - rank[b.first.Severity] })
	return groups
}

// mostOthers is how many further places of one finding are named.
const mostOthers = 6

// others names the further places of a group.
func (g findingGroup) others() string {
	first := where(g.first)
	var places []string
	for _, f := range g.more {
		if place := where(f); place != "" && place != first && !slices.Contains(places, place) {
			places = append(places, place)
		}
	}
	switch n := len(places); {
	case n == 0:
		return ""
	case n > mostOthers:
		return fmt.Sprintf(" Likewise %s and %d more.", strings.Join(places[:mostOthers-1], ", "), n-mostOthers+1)
	}
	return " Likewise " + strings.Join(places, ", ") + "."
}

// where says which record, channel, tone and time a finding is about.
func where(f finding.Finding) string {
	var at []string
	if f.File != "" {
		at = append(at, Tie("in "+f.File))
	}
	if f.Channel != 0 {
		at = append(at, Tie(fmt.Sprintf("channel %d", f.Channel)))
	}
	if f.FreqHz != 0 {
		at = append(at, Tie("at "+nominal(f.FreqHz)))
	}
	if f.AtS != nil {
		at = append(at, Tie(fmt.Sprintf("at %.3f s", *f.AtS)))
	}
	return strings.Join(at, " ")
}

// sentence makes a text end in a full stop.
func sentence(text string) string {
	if text == "" || strings.HasSuffix(text, ".") {
		return text
	}
	return text + "."
}
