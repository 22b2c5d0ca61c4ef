//go:build portaudio && cgo

package portaudio

/*
#cgo linux LDFLAGS: -ldl
#ifdef __linux__
#define _GNU_SOURCE
#include <dlfcn.h>
#include <stddef.h>

enum { noStartServer = 1 }; // JackNoStartServer

static int jackForgot(void) {
	int (*ours)(const char **) = (int (*)(const char **))dlsym(RTLD_DEFAULT, "PaJack_GetClientName");
	void *(*open)(const char *, int, void *, ...) = (void *(*)(const char *, int, void *, ...))dlsym(RTLD_DEFAULT, "jack_client_open");
	char *(*identify)(void *, const char *) = (char *(*)(void *, const char *))dlsym(RTLD_DEFAULT, "jack_get_uuid_for_client_name");
	int (*close)(void *) = (int (*)(void *))dlsym(RTLD_DEFAULT, "jack_client_close");
	void (*release)(void *) = (void (*)(void *))dlsym(RTLD_DEFAULT, "jack_free");
	const char *name;
	void *client;
	char *id;
	if (ours == NULL || open == NULL || identify == NULL || close == NULL || release == NULL)
		return 0;
	if (ours(&name) != 0)
		return 0;
	client = open("wheatear-look", noStartServer, NULL);
	if (client == NULL)
		return 1;
	id = identify(client, name);
	close(client);
	if (id == NULL)
		return 1;
	release(id);
	return 0;
}
#else
static int jackForgot(void) { return 0; }
#endif
*/
import "C"

import (
	"slices"

	pa "github.com/gordonklaus/portaudio"
)

// hasJack says whether the library has met a JACK server.
func hasJack() bool {
	apis, err := pa.HostApis()
	return err == nil && slices.ContainsFunc(apis, func(a *pa.HostApiInfo) bool { return a.Type == pa.JACK })
}

// jackForgot says whether a JACK server that the library has met no longer knows it:
// the server has ended, or is another one. Then PortAudio does not return an error at
// its end but ends the process by an assertion (pa_jack.c, Terminate).
func jackForgot() bool { return C.jackForgot() != 0 }
