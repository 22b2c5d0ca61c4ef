//go:build linux

package servertest

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// PulseOptions change the server of [Pulse]. The zero value is a clean card.
type PulseOptions struct {
	RateHz        int // of server and sinks; 0 means 48000
	InputChannels int // of the sink whose monitor is the card's input; 0 means 2
	// Rescue makes the server move streams in silence from a device that goes to the
	// default one, as most do; else they end.
	Rescue bool
	// Resampler is what converts between rates; "" means speex-float-1, the usual one.
	Resampler string
}

// PulseServer is a PulseAudio server and ALSA cards that lead to it.
type PulseServer struct {
	*Process
	Device string   // name of the card for ALSA programs
	Spare  string   // of another card, whose input hears what is played to it
	Ears   string   // of one that hears what Device does, and plays to nobody
	Dir    string   // temporary folder, and HOME of the programs
	Env    []string // variables, "NAME=value", that programs need to find the server

	t       testing.TB
	options PulseOptions
	modules map[string]string // sink to the module that made it
}

// Names of the sinks: a program that plays to Device plays to OutputSink, and one
// that records from it hears what is played to InputSink.
const (
	OutputSink = "dut_out"
	InputSink  = "dut_in"
)

const alsaConf = `pcm.wheatear_card {
    type asym
    playback.pcm { type pulse device "` + OutputSink + `" }
    capture.pcm  { type pulse device "` + InputSink + `.monitor" }
}
pcm.wheatear_spare {
    type asym
    playback.pcm { type pulse device "park" }
    capture.pcm  { type pulse device "park.monitor" }
}
pcm.wheatear_ears {
    type asym
    playback.pcm { type pulse device "park" }
    capture.pcm  { type pulse device "` + InputSink + `.monitor" }
}
pcm.!default { type pulse }
ctl.!default { type pulse }
`

// Pulse starts a server and gives the test's process the variables to find it.
// It ends with the test.
func Pulse(t testing.TB, o PulseOptions) *PulseServer {
	t.Helper()
	Need(t, "pulseaudio", "pactl", "parec", "pacat")
	needPlugin(t)
	if o.RateHz == 0 {
		o.RateHz = 48000
	}
	if o.InputChannels == 0 {
		o.InputChannels = 2
	}
	if o.Resampler == "" {
		o.Resampler = "speex-float-1"
	}
	s := &PulseServer{Device: "wheatear_card", Spare: "wheatear_spare", Ears: "wheatear_ears", Dir: tempDir(t), t: t, options: o, modules: map[string]string{}}
	run := filepath.Join(s.Dir, "run")
	s.Env = []string{"HOME=" + s.Dir, "XDG_RUNTIME_DIR=" + run, "PULSE_SERVER=unix:" + run + "/pulse.sock",
		"ALSA_CONFIG_PATH=" + s.Dir + "/asound.conf", "JACK_NO_START_SERVER=1"}
	s.write("asound.conf", alsaConf)
	s.write(".config/pulse/daemon.conf", fmt.Sprintf("default-sample-rate = %d\nalternate-sample-rate = %d\n"+
		"flat-volumes = no\nrescue-streams = %t\nresample-method = %s\n", o.RateHz, o.RateHz, o.Rescue, o.Resampler))
	setenv(t, s.Env)
	s.Restart()
	return s
}

// needPlugin wants the library by which ALSA programs reach the server.
func needPlugin(t testing.TB) {
	t.Helper()
	found, err := filepath.Glob("/usr/lib*/*/alsa-lib/libasound_module_pcm_pulse.so")
	if also, _ := filepath.Glob("/usr/lib*/alsa-lib/libasound_module_pcm_pulse.so"); err == nil && len(found)+len(also) == 0 {
		lacking(t, "ALSA plug-in for PulseAudio", "libasound2-plugins")
	}
}

// tempDir is a folder with a short name: that of a socket must be below 108 bytes.
func tempDir(t testing.TB) string {
	dir, err := os.MkdirTemp("", "snd")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return dir
}

func (s *PulseServer) write(name, text string) {
	path := filepath.Join(s.Dir, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		s.t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		s.t.Fatal(err)
	}
}

// Restart starts the server, again if it has ended.
func (s *PulseServer) Restart() {
	s.t.Helper()
	run := filepath.Join(s.Dir, "run")
	os.RemoveAll(run)
	if err := os.MkdirAll(run, 0o700); err != nil {
		s.t.Fatal(err)
	}
	s.Process = start(s.t, s.Dir, environment(s.Env), nil, nil, "pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1",
		"--disable-shm=yes", "--use-pid-file=no", "--log-target=stderr",
		"-L", "module-native-protocol-unix socket="+run+"/pulse.sock auth-anonymous=1")
	s.await(s.t, func() error { _, err := s.Pactl("info"); return err })
	// What is not named must not sit on the sinks of the card: a stream on the
	// default device is moved when the default changes.
	s.addSink("park", 2)
	s.addSink(OutputSink, 2)
	s.addSink(InputSink, s.options.InputChannels)
	s.must("set-default-sink", "park")
	s.must("set-default-source", "park.monitor")
}

// addSink makes a sink whose monitor gives what was played to it. Without
// norewinds it would take back what the monitor has already given.
func (s *PulseServer) addSink(name string, channels int) {
	s.t.Helper()
	id := s.must("load-module", "module-null-sink", "sink_name="+name, fmt.Sprintf("rate=%d", s.options.RateHz),
		fmt.Sprintf("channels=%d", channels), "format=float32le", "norewinds=1")
	s.modules[name] = strings.TrimSpace(id)
}

// Unplug takes a sink away, and the device with it.
func (s *PulseServer) Unplug(sink string) {
	s.t.Helper()
	s.must("unload-module", s.modules[sink])
}

// Pactl gives the server a command and returns its answer.
func (s *PulseServer) Pactl(args ...string) (string, error) {
	ctx, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	cmd := exec.CommandContext(ctx, "pactl", args...)
	cmd.Env, cmd.WaitDelay = environment(s.Env), time.Second
	out, err := cmd.CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("pactl %s: %w: %s", strings.Join(args, " "), err, out)
	}
	return string(out), nil
}

func (s *PulseServer) must(args ...string) string {
	s.t.Helper()
	out, err := s.Pactl(args...)
	if err != nil {
		s.t.Fatalf("servertest: %v\n%s", err, s.Log())
	}
	return out
}
