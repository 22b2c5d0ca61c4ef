package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"testing"
)

// speaking is a command that asks, and says what it was told.
func speaking(_ context.Context, e Errand) int {
	fmt.Fprintln(e.Talk, "JOINED: put both inputs on one node.")
	answer := make([]byte, 8)
	n, _ := e.In.Read(answer)
	json.NewEncoder(e.Out).Encode(map[string]any{"told": e.Args[3:], "answered": string(answer[:n]), "text": "<b>plain</b>"})
	return 4
}

// documented is a command that gives what the real one printed, where that is kept in
// testdata, and else asks as speaking does.
func documented(ctx context.Context, e Errand) int {
	text, err := os.ReadFile("testdata/" + e.Args[0] + ".json")
	if err != nil {
		return speaking(ctx, e)
	}
	e.Out.Write(text)
	return 0
}

// What a task asks is shown and answered on its page; its result is text, never markup.
func TestBrowserTask(t *testing.T) {
	p := openTab(t, 390, 844, "dark")
	s := ready(t, Options{Command: speaking, Commands: []string{"verify"}})
	p.open(s.url + "/verify")
	p.value("#loads", "1k/0.1%, 100/0.1%")
	p.click("#task .main")
	p.shows("#talk", "JOINED: put both inputs on one node.")
	p.click(`[data-answer="s"]`)
	p.shows("#task-told", `--load=100/0.1%`)
	p.shows("#task-told", `<b>plain</b>`)
	p.shows("#task-verdict", "There is something to mend")
	p.quiet()
}
