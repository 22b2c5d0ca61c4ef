//go:build !portaudio || !cgo

package portaudio

// Built says whether this program can reach sound cards.
const Built = false

func newDriver() driver { return absent{} }

// absent stands in the place of the library where it was not built in. Every use
// of the library begins with initialize, so the rest is never reached.
type absent struct{}

func (absent) initialize() error                  { return errNotBuilt }
func (absent) terminate() error                   { return errNotBuilt }
func (absent) devices() ([]Device, error)         { return nil, errNotBuilt }
func (absent) supports(params) bool               { return false }
func (absent) open(params, *take) (stream, error) { return nil, errNotBuilt }
