package page

import (
	"context"
	"errors"
	"io"
	"log"
	"net"
	"net/http"
	"sync"
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

// mostConnections that are open at once; more wait.
const mostConnections = 128

// Serve answers on a listener until the context ends. It closes the bench.
func (b *Bench) Serve(ctx context.Context, ln net.Listener) error {
	l := b.opts.limits
	srv := &http.Server{
		Handler: b.Handler(), ReadHeaderTimeout: l.header, ReadTimeout: l.read, WriteTimeout: l.write, IdleTimeout: l.idle,
		MaxHeaderBytes: 16 << 10, ErrorLog: log.New(io.Discard, "", 0),
	}
	served := make(chan error, 1)
	go func() { served <- srv.Serve(&limited{Listener: ln, free: make(chan struct{}, mostConnections)}) }()
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

// limited is a listener with so many connections at once.
type limited struct {
	net.Listener
	free chan struct{} // holds a token for each that is open
}

func (l *limited) Accept() (net.Conn, error) {
	l.free <- struct{}{}
	c, err := l.Listener.Accept()
	if err != nil {
		<-l.free
		return nil, err
	}
	return &counted{Conn: c, free: l.free}, nil
}

// counted gives its place back once.
type counted struct {
	net.Conn
	free chan struct{}
	once sync.Once
}

func (c *counted) Close() error {
	c.once.Do(func() { <-c.free })
	return c.Conn.Close()
}
