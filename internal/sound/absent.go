//go:build !devices || !cgo

package sound

// Built says whether this program was built with devices.
const Built = false

func devices() (List, error) { return List{}, ErrNoDevices }
