//go:build !devices || !cgo

package sound

import (
	"errors"
	"testing"
)

func TestABuildWithoutDevicesSaysSo(t *testing.T) {
	_, err := Devices()
	if !errors.Is(err, ErrNoDevices) || Built {
		t.Fatalf("Built %v, error %v", Built, err)
	}
	const want = "this build has no devices; `make install` builds one that has"
	if err.Error() != want {
		t.Errorf("got %q, want %q", err, want)
	}
}
