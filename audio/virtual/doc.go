// Package virtual is a simulated stereo sound card with a jig and a part.
package virtual
