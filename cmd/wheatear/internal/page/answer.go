package page

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"mime"
	"net/http"
	"time"
)

// toWrite is how long an answer may take to be read, once it has been made.
const toWrite = 10 * time.Second

// answer writes a document.
func answer(w http.ResponseWriter, status int, v any) {
	text, err := json.Marshal(v)
	if err != nil {
		status, text = http.StatusInternalServerError, []byte(`{"error": "the answer could not be written"}`)
	}
	w.Header().Set("Content-Type", "application/json")
	// What is to be computed, such as a fit, may have taken longer than writing may.
	_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(toWrite))
	w.WriteHeader(status)
	w.Write(append(text, '\n'))
}

// fail answers with an error.
func fail(w http.ResponseWriter, err error) {
	status, p := problemOf(err)
	if status == http.StatusServiceUnavailable {
		w.Header().Set("Retry-After", "5")
	}
	answer(w, status, p)
}

// get is a route that tells something.
func get(tell func(*http.Request) (any, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		v, err := tell(r)
		if err != nil {
			fail(w, err)
			return
		}
		answer(w, http.StatusOK, v)
	}
}

// post is a route that does something with a document. What comes of it is in the
// state, which the pages are told; the answer is empty.
func post[T any](do func(*http.Request, T) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		var in T
		err := decode(r, &in)
		if err == nil {
			err = do(r, in)
		}
		if err != nil {
			fail(w, err)
			return
		}
		answer(w, http.StatusOK, struct{}{})
	}
}

// decode reads the document of a request. An empty one stands for {}.
func decode(r *http.Request, v any) error {
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "application/json" {
		return &statusError{http.StatusUnsupportedMediaType, errors.New("send JSON, with the header Content-Type: application/json")}
	}
	d := json.NewDecoder(r.Body)
	var text json.RawMessage
	err := d.Decode(&text)
	if err == nil {
		err = object(text, v)
	}
	if err != nil && !errors.Is(err, io.EOF) {
		var long *http.MaxBytesError
		if errors.As(err, &long) {
			return err
		}
		return invalid("the request is not understood: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		var long *http.MaxBytesError
		if errors.As(err, &long) {
			return err
		}
		return invalid("the request has something behind its document")
	}
	return nil
}

// object reads a JSON object; null, too, would be taken for one.
func object(text json.RawMessage, v any) error {
	if !bytes.HasPrefix(text, []byte("{")) {
		return errors.New("want an object")
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	return d.Decode(v)
}

// tab is the mark of the page that asks: a few letters and figures.
func tab(r *http.Request) string {
	mark := r.Header.Get("Wheatear-Tab")
	if len(mark) > 12 || slug(mark) != mark {
		return ""
	}
	return mark
}
