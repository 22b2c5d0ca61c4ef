package page

import (
	"context"
	"net"
	"sync"
)

// limited is a listener that closes connections beyond their limits at once, so that
// the others are answered.
type limited struct {
	net.Listener
	open bool // there is no token: everybody is known

	mu        sync.Mutex
	known     int
	strangers map[string]int // by address
	total     int            // of the strangers
}

func newLimited(ln net.Listener, open bool) *limited {
	return &limited{Listener: ln, open: open, strangers: map[string]int{}}
}

// Accept returns the next connection that there is a place for.
func (l *limited) Accept() (net.Conn, error) {
	for {
		c, err := l.Listener.Accept()
		if err != nil {
			return nil, err
		}
		if k := l.admit(c); k != nil {
			return k, nil
		}
		c.Close()
	}
}

// admit gives a connection a place, or nil.
func (l *limited) admit(c net.Conn) *counted {
	address := addressOf(c)
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.open {
		if l.known >= mostConnections {
			return nil
		}
		l.known++
		return &counted{Conn: c, of: l, isKnown: true}
	}
	if l.total >= mostStrangers || l.strangers[address] >= strangersEach {
		return nil
	}
	l.total++
	l.strangers[address]++
	return &counted{Conn: c, of: l, address: address}
}

func addressOf(c net.Conn) string {
	host, _, err := net.SplitHostPort(c.RemoteAddr().String())
	if err != nil {
		return c.RemoteAddr().String()
	}
	return host
}

// counted is a connection that has a place and gives it back once.
type counted struct {
	net.Conn
	of      *limited
	address string
	isKnown bool
	closed  bool
}

// know moves a connection that has shown the token among those that are known. It is
// false where there is no place.
func (c *counted) know() bool {
	l := c.of
	l.mu.Lock()
	defer l.mu.Unlock()
	if c.isKnown || c.closed {
		return true
	}
	if l.known >= mostConnections {
		return false
	}
	c.isKnown = true
	l.known++
	l.leaveStranger(c.address)
	return true
}

func (l *limited) leaveStranger(address string) {
	l.total--
	if l.strangers[address]--; l.strangers[address] == 0 {
		delete(l.strangers, address)
	}
}

// Close implements net.Conn.
func (c *counted) Close() error {
	l := c.of
	l.mu.Lock()
	if !c.closed {
		c.closed = true
		if c.isKnown {
			l.known--
		} else {
			l.leaveStranger(c.address)
		}
	}
	l.mu.Unlock()
	return c.Conn.Close()
}

type connectionKey struct{}

// withConnection lets a request find its connection.
func withConnection(ctx context.Context, c net.Conn) context.Context {
	return context.WithValue(ctx, connectionKey{}, c)
}

// knowConnection notes that a request has shown the token.
func knowConnection(ctx context.Context) bool {
	c, ok := ctx.Value(connectionKey{}).(*counted)
	return !ok || c.know()
}
