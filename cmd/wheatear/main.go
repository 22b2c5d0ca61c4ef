// Wheatear measures impedance with a sound card. See wheatear help.
package main

import (
	"context"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"

	"example.org/wheatear/audio/portaudio"
	"example.org/wheatear/cmd/wheatear/internal/cli"
)

func main() { os.Exit(run()) }

// run ends work on the first interrupt or request to end, and the program at once on
// the second.
func run() int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop)
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(400) // records come and go by the megabyte, and little stays
	}
	// Sound libraries print to standard error; what is ours goes past them.
	return cli.Run(ctx, os.Args[1:], os.Stdin, os.Stdout, portaudio.Stderr())
}
