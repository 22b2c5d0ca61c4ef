package cli

import "errors"

// errLive is where measuring through a card will begin: what a card hears takes
// the place of the tapes of a connection.
var errLive = errors.New("no recording was named; measuring through a sound card directly needs a card backend, which this build does not have")
