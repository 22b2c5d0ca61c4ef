//go:build portaudio && cgo

package portaudio

import (
	pa "github.com/gordonklaus/portaudio"
)

// Built says whether this program can reach sound cards.
const Built = true

func newDriver() driver { return native{} }

// native is the library itself. No other file touches it.
type native struct{}

func (native) initialize() error {
	if err := checkConfigured(); err != nil {
		return err
	}
	return translate(pa.Initialize())
}

func (native) terminate() error {
	if hasJack() && jackForgot() {
		return errForgotten
	}
	return translate(pa.Terminate())
}

func (native) devices() ([]Device, error) {
	list, err := pa.Devices()
	if err != nil {
		return nil, translate(err)
	}
	in, _ := pa.DefaultInputDevice() // none is no error here
	out, _ := pa.DefaultOutputDevice()
	devices := make([]Device, len(list))
	for i, d := range list {
		devices[i] = Device{
			Number: d.Index, API: d.HostApi.Name, Name: d.Name,
			Inputs: d.MaxInputChannels, Outputs: d.MaxOutputChannels, DefaultRateHz: d.DefaultSampleRate,
			InputLatency: d.DefaultHighInputLatency, OutputLatency: d.DefaultHighOutputLatency,
			DefaultInput:  in != nil && in.Index == d.Index,
			DefaultOutput: out != nil && out.Index == d.Index,
		}
	}
	return devices, nil
}

func (n native) supports(p params) bool {
	native, err := n.translateParams(p)
	return err == nil && pa.IsFormatSupported(native, callback(p, nil)) == nil
}

func (n native) open(p params, t *take) (stream, error) {
	native, err := n.translateParams(p)
	if err != nil {
		return nil, translate(err)
	}
	s, err := pa.OpenStream(native, callback(p, t))
	if err != nil {
		return nil, translate(err)
	}
	return nativeStream{s}, nil
}

// callback returns the function that the library calls, by the directions of p.
// What it gets lies in the library's memory.
func callback(p params, t *take) any {
	switch {
	case p.out == nil:
		return func(in []float32, _ pa.StreamCallbackTimeInfo, f pa.StreamCallbackFlags) { t.onInput(in, flags(f)) }
	case p.in == nil:
		return func(out []float32, _ pa.StreamCallbackTimeInfo, f pa.StreamCallbackFlags) { t.onOutput(out, flags(f)) }
	}
	return func(in, out []float32, _ pa.StreamCallbackTimeInfo, f pa.StreamCallbackFlags) {
		t.onDuplex(in, out, flags(f))
	}
}

// translateParams finds the library's own entries of the devices.
func (native) translateParams(p params) (pa.StreamParameters, error) {
	list, err := pa.Devices()
	if err != nil {
		return pa.StreamParameters{}, err
	}
	out := pa.StreamParameters{SampleRate: p.rateHz, FramesPerBuffer: p.framesPerBuffer}
	side := func(d *Device, channels int) (pa.StreamDeviceParameters, error) {
		if d == nil {
			return pa.StreamDeviceParameters{}, nil
		}
		if d.Number < 0 || d.Number >= len(list) {
			return pa.StreamDeviceParameters{}, pa.InvalidDevice
		}
		return pa.StreamDeviceParameters{Device: list[d.Number], Channels: channels, Latency: p.latency}, nil
	}
	if out.Input, err = side(p.in, p.inCh); err != nil {
		return out, err
	}
	out.Output, err = side(p.out, p.outCh)
	return out, err
}

// nativeStream is a stream of the library.
type nativeStream struct{ s *pa.Stream }

func (n nativeStream) start() error { return translate(n.s.Start()) }
func (n nativeStream) abort() error { return n.s.Abort() }
func (n nativeStream) close() error { return n.s.Close() }

func (n nativeStream) info() (streamInfo, bool) {
	i := n.s.Info()
	if i == nil {
		return streamInfo{}, false
	}
	return streamInfo{rateHz: i.SampleRate, inLatency: max(i.InputLatency, 0), outLatency: max(i.OutputLatency, 0)}, true
}
