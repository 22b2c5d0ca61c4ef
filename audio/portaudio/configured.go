//go:build portaudio && cgo

package portaudio

/*
#cgo linux LDFLAGS: -ldl
enum { configured, unreadable, noDefault };

#ifdef __linux__
#define _GNU_SOURCE
#include <dlfcn.h>
#include <stddef.h>

enum { compound = 1024 }; // SND_CONFIG_TYPE_COMPOUND

// soundConfiguration looks at what ALSA, if the program has it, has read.
static int soundConfiguration(void) {
	int (*update)(void) = (int (*)(void))dlsym(RTLD_DEFAULT, "snd_config_update");
	int (*search)(void *, const char *, void **) = (int (*)(void *, const char *, void **))dlsym(RTLD_DEFAULT, "snd_config_search");
	int (*type)(const void *) = (int (*)(const void *))dlsym(RTLD_DEFAULT, "snd_config_get_type");
	void **top = (void **)dlsym(RTLD_DEFAULT, "snd_config");
	void *pcm, *node;
	if (update == NULL || search == NULL || type == NULL || top == NULL)
		return configured;
	if (update() < 0 || *top == NULL)
		return unreadable;
	if (search(*top, "pcm", &pcm) < 0 || type(pcm) != compound)
		return noDefault;
	if (search(pcm, "default", &node) < 0 && search(pcm, "dmix", &node) < 0)
		return noDefault;
	return configured;
}
#else
static int soundConfiguration(void) { return configured; }
#endif
*/
import "C"

// checkConfigured looks whether the system's sound configuration is there. Where it
// has no devices, or none called "default" or "dmix", PortAudio does not return an
// error but ends the process by an assertion (pa_linux_alsa.c, BuildDeviceList).
func checkConfigured() error {
	switch C.soundConfiguration() {
	case C.unreadable:
		return errUnreadable
	case C.noDefault:
		return errNoDefault
	}
	return nil
}
