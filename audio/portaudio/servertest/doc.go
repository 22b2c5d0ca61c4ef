// Package servertest starts real sound servers for tests, without hardware and
// without touching the user's own: everything lives in a temporary folder and in
// processes that the test started and ends by their ids. Linux only.
//
// [Pulse] is a PulseAudio server that an ALSA device leads to, as most programs on
// Linux meet it: the delay is about a third of a second and different each time,
// rates are converted silently, and server and device can be taken away. [Jack] is
// a JACK server on its dummy driver: sample-exact, the same delay in every run.
//
// What stands between output and input of the card, the jig, is a process of its
// own. With PulseAudio it is any command that filters raw frames, see
// [PulseServer.StartJig]; with JACK it is a small client compiled by the test.
package servertest
