package page

import (
	"encoding/json"
	"os"
	"testing"

	"github.com/chromedp/chromedp/kb"
)

// From a part to what is to be set, and on to the calibration, by keyboard alone.
func TestBrowserPlan(t *testing.T) {
	t.Parallel()
	p := openTab(t, 1280, 800, "light")
	s := ready(t, Options{Command: documented, Commands: []string{"plan"}})
	text, err := os.ReadFile("testdata/plan.json")
	if err != nil {
		t.Fatal(err)
	}
	var plan struct {
		Remedies []struct{ Words string }
		Choices  []struct {
			At         string
			LevelAsked string `json:"level_asked"`
			Changes    []string
			Words      struct{ Reference, Frequency, Verdict string }
			Limits     []struct{ Source string }
		}
	}
	if err := json.Unmarshal(text, &plan); err != nil || len(plan.Choices) < 3 || len(plan.Remedies) == 0 {
		t.Fatalf("%v; the document shows too little", err)
	}
	p.open(s.url + "/plan")
	p.tabTo("#expect")
	p.key("47u")
	p.tabTo("#kind")
	p.key("alu") // letters choose from the list
	p.tabTo("#want")
	p.key("0.05%")
	p.key(kb.Enter)
	first := plan.Choices[0]
	p.shows("#plan-settings", first.Words.Reference+" reference, "+first.Words.Frequency)
	p.shows("#plan-reached", first.Words.Verdict)
	p.shows("#plan-remedies", plan.Remedies[0].Words)
	p.shows("#plan-limits", first.Limits[0].Source)
	p.wait("three regions and the part are drawn")(`document.querySelectorAll("#reach .within").length === 3 && document.querySelector("#reach .part").getTotalLength() > 100`)
	p.tabTo("#choice-0")
	p.key(kb.ArrowDown)
	p.key(kb.ArrowDown)
	other := plan.Choices[2]
	p.shows("#plan-settings", other.Words.Reference+" reference, "+other.Words.Frequency)
	for _, text := range other.Changes {
		p.shows("#plan-changes", text)
	}
	p.eval(`document.querySelector("#expect").focus()`) // back to the top, as Shift+Tab would in many steps
	p.tabTo("#plan-calibrate")
	p.key(kb.Enter)
	p.at("/calibrate")
	p.wait("the frequency is filled in")(`document.querySelector("#cal-at").value === ` + quoted(other.At))
	p.shows("#cal-level", "as planned")
	p.open(s.url + "/?at=" + other.At + "&level=" + other.LevelAsked)
	p.wait("and the settings of a reading")(`document.querySelector("#at").value === ` + quoted(other.At) + ` && document.querySelector("#level").value === ` + quoted(other.LevelAsked))
	p.quiet()
}
