/* A JACK client with two inputs and one or two outputs, so that it looks like a
 * sound card. Input 1 is the drive. Output k is the drive through a filter of first
 * order, y[n] = b0 x[n] + b1 x[n-1] - a1 y[n-1], computed in double precision.
 * Arguments: name, then b0 b1 a1 for each output. */
#include <jack/jack.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static jack_port_t *in[2], *out[2];
static int outs;
static double coef[2][3], x1[2], y1[2];
static volatile sig_atomic_t stop;

static void on_signal(int s) { (void)s; stop = 1; }
static void on_shutdown(void *p) { (void)p; stop = 2; }

static int process(jack_nframes_t n, void *p) {
	float *a = jack_port_get_buffer(in[0], n);
	(void)p;
	for (int k = 0; k < outs; k++) {
		float *y = jack_port_get_buffer(out[k], n);
		for (jack_nframes_t i = 0; i < n; i++) {
			y1[k] = coef[k][0] * a[i] + coef[k][1] * x1[k] - coef[k][2] * y1[k];
			x1[k] = a[i];
			y[i] = (float)y1[k];
		}
	}
	return 0;
}

int main(int argc, char **argv) {
	outs = (argc - 2) / 3;
	if (outs < 1 || outs > 2) return 2;
	for (int i = 0; i < 3 * outs; i++) coef[i / 3][i % 3] = atof(argv[2 + i]);
	jack_client_t *j = jack_client_open(argv[1], JackNoStartServer | JackUseExactName, NULL);
	if (!j) return 1;
	jack_set_process_callback(j, process, NULL);
	jack_on_shutdown(j, on_shutdown, NULL);
	for (int i = 0; i < 2; i++) {
		char s[16];
		snprintf(s, sizeof s, "in_%d", i + 1);
		in[i] = jack_port_register(j, s, JACK_DEFAULT_AUDIO_TYPE, JackPortIsInput, 0);
	}
	for (int i = 0; i < outs; i++) {
		char s[16];
		snprintf(s, sizeof s, "out_%d", i + 1);
		out[i] = jack_port_register(j, s, JACK_DEFAULT_AUDIO_TYPE, JackPortIsOutput, 0);
	}
	if (jack_activate(j)) return 1;
	signal(SIGTERM, on_signal);
	signal(SIGINT, on_signal);
	while (!stop) usleep(20000);
	if (stop == 1) jack_client_close(j);
	return stop - 1;
}
