package page

import (
	"context"
	"errors"
	"io"
	"log"
	"net"
	"net/http"
	"time"
)

// limits of what one client can hold up. Tests make them shorter.
type limits struct {
	header, read, write, idle time.Duration
	event                     time.Duration // to write one event
	body                      int64
}

func usualLimits() limits {
	return limits{header: 5 * time.Second, read: 15 * time.Second, write: 30 * time.Second, idle: time.Minute, event: 5 * time.Second, body: 64 << 10}
}

// Connections that are open at once. Who has shown the token keeps its place; of those
// that have not, one address has a few and all together some: they can hold up each
// other, nobody who may measure.
const (
	mostConnections = 128 // of those with the token, in all
	mostStrangers   = 32  // of those without, in all
	strangersEach   = 8   // of one address
)

// Serve answers on a listener until the context ends. It closes the bench.
func (b *Bench) Serve(ctx context.Context, ln net.Listener) error {
	l := b.opts.limits
	srv := &http.Server{
		Handler: b.Handler(), ReadHeaderTimeout: l.header, ReadTimeout: l.read, WriteTimeout: l.write, IdleTimeout: l.idle,
		MaxHeaderBytes: 16 << 10, ErrorLog: log.New(io.Discard, "", 0), ConnContext: withConnection,
	}
	served := make(chan error, 1)
	go func() { served <- srv.Serve(newLimited(ln, b.opts.Token == "")) }()
	select {
	case err := <-served:
		b.Close()
		return err
	case <-ctx.Done():
	}
	b.Close()
	end, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	if err := srv.Shutdown(end); err != nil {
		srv.Close()
	}
	if err := <-served; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}
