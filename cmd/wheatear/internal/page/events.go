package page

import (
	"fmt"
	"net/http"
	"time"
)

// heartbeat is sent where there is nothing to tell, so that both ends notice when
// the other has gone.
const heartbeat = 10 * time.Second

// serveEvents tells a page what changes, beginning with how things stand.
func (b *Bench) serveEvents(w http.ResponseWriter, r *http.Request) {
	l, err := b.hub.listen()
	if err != nil {
		w.Header().Set("Connection", "close") // the place may be wanted by a page
		fail(w, err)
		return
	}
	defer b.hub.leave(l)
	w.Header().Set("Content-Type", "text/event-stream")
	s := &eventStream{w: w, control: http.NewResponseController(w), within: b.opts.limits.event}
	_ = s.control.SetReadDeadline(time.Time{}) // the request has been read
	b.notifyOne(l)
	if s.write("retry: 1000\n\n") != nil {
		return
	}
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	for {
		select {
		case <-r.Context().Done():
			return
		case <-l.gone:
			return
		case <-beat.C:
			err = s.write(": still here\n\n")
		case <-l.ready:
			err = s.events(l.take())
		}
		if err != nil {
			return
		}
	}
}

// notifyOne tells one listener how things stand.
func (b *Bench) notifyOne(l *listener) {
	b.mu.Lock()
	defer b.mu.Unlock()
	l.tell("state", b.state())
	if b.active != nil && b.live.last != nil {
		told := *b.live.last
		told.Measure = nil
		l.tell("live", &told)
	}
}

// eventStream writes events; a client that does not take them in time is dropped.
type eventStream struct {
	w       http.ResponseWriter
	control *http.ResponseController
	within  time.Duration
}

func (s *eventStream) events(list []event) error {
	text := ""
	for _, e := range list {
		text += fmt.Sprintf("event: %s\ndata: %s\n\n", e.name, e.text)
	}
	return s.write(text)
}

func (s *eventStream) write(text string) error {
	if err := s.control.SetWriteDeadline(time.Now().Add(s.within)); err != nil {
		return err
	}
	if _, err := s.w.Write([]byte(text)); err != nil {
		return err
	}
	return s.control.Flush()
}
