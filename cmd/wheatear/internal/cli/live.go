package cli

import "errors"

// errLive is where measuring through a card will begin: a card that plays and
// listens is one more source.
var errLive = errors.New("no recording was named; measuring through a sound card directly needs a card backend, which this build does not have")
