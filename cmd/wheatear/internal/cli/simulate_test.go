package cli

import (
	"bytes"
	"context"
	"io"
	"testing"
	"time"

	"go.uber.org/goleak"
)

// A jig that waits for frames ends when it is asked to, and that is no failure.
func TestSimulateEndsWhenAsked(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	in, feed := io.Pipe()
	heard, out := io.Pipe()
	ctx, cancel := context.WithCancel(context.Background())
	var talk bytes.Buffer
	status := make(chan int, 1)
	go func() { status <- Run(ctx, []string{"simulate", "--part", "load"}, in, out, &talk) }()

	go feed.Write(make([]byte, 480*8))
	if _, err := io.ReadFull(heard, make([]byte, 480*8)); err != nil {
		t.Fatal(err)
	}
	cancel() // while it waits for more
	select {
	case got := <-status:
		if got != 0 || talk.Len() > 0 {
			t.Errorf("status %d, %q", got, talk.String())
		}
	case <-time.After(3 * time.Second):
		t.Error("it goes on")
	}
	feed.Close()
}
