package page

import (
	"encoding/json"
	"errors"
	"sync"
	"sync/atomic"
)

// mostListeners is how many pages may listen at once.
const mostListeners = 32

// ErrListeners says that no more pages can listen.
var ErrListeners = errors.New("page: too many pages listen already; close some")

// hub tells events to all who listen. One who does not keep up loses the oldest
// live readings, never a state: a state replaces the one before.
type hub struct {
	mu        sync.Mutex
	listeners map[*listener]bool
	closed    bool
	lost      atomic.Int64 // live events that somebody was too slow for
}

// listener is one page. It takes the latest event of each name.
type listener struct {
	mu      sync.Mutex
	waiting map[string][]byte // by the name of the event
	order   []string
	ready   chan struct{} // holds a token while something waits
	gone    chan struct{} // closed when the hub closes
}

func newHub() *hub { return &hub{listeners: map[*listener]bool{}} }

// listen adds a listener. The caller leaves.
func (h *hub) listen() (*listener, error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed || len(h.listeners) >= mostListeners {
		return nil, ErrListeners
	}
	l := &listener{waiting: map[string][]byte{}, ready: make(chan struct{}, 1), gone: make(chan struct{})}
	h.listeners[l] = true
	return l, nil
}

func (h *hub) leave(l *listener) {
	h.mu.Lock()
	defer h.mu.Unlock()
	delete(h.listeners, l)
}

// count is how many listen.
func (h *hub) count() int {
	h.mu.Lock()
	defer h.mu.Unlock()
	return len(h.listeners)
}

// send tells v to all. It is encoded once, and not at all where nobody listens.
func (h *hub) send(name string, v any) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if len(h.listeners) == 0 {
		return
	}
	text, err := json.Marshal(v)
	if err != nil {
		return // what is sent is made of plain values
	}
	for l := range h.listeners {
		if l.put(name, text) {
			h.lost.Add(1)
		}
	}
}

// close ends all listening.
func (h *hub) close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed {
		return
	}
	h.closed = true
	for l := range h.listeners {
		close(l.gone)
	}
}

// put replaces what waits under that name, and reports whether anything did.
func (l *listener) put(name string, text []byte) (replaced bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if _, replaced = l.waiting[name]; !replaced {
		l.order = append(l.order, name)
	}
	l.waiting[name] = text
	select {
	case l.ready <- struct{}{}:
	default:
	}
	return replaced
}

// event is one to be written.
type event struct {
	name string
	text []byte
}

// take returns what waits, in order, and leaves nothing.
func (l *listener) take() []event {
	l.mu.Lock()
	defer l.mu.Unlock()
	var out []event
	for _, name := range l.order {
		out = append(out, event{name, l.waiting[name]})
		delete(l.waiting, name)
	}
	l.order = l.order[:0]
	return out
}

// tell is send for one listener.
func (l *listener) tell(name string, v any) {
	if text, err := json.Marshal(v); err == nil {
		l.put(name, text)
	}
}
