//go:build devices && cgo

package sound

/*
#cgo LDFLAGS: -lasound
#include <alsa/asoundlib.h>

// spareListed says whether ALSA's configuration defines one of the two devices that PortAudio leaves for its second pass.
static int spareListed(void) {
	snd_config_t *found;
	snd_config_update();
	return snd_config != NULL && (snd_config_search(snd_config, "pcm.default", &found) == 0 ||
		snd_config_search(snd_config, "pcm.dmix", &found) == 0);
}
*/
import "C"

import "errors"

var errNoALSA = errors.New("cannot list microphones and speakers: ALSA's configuration names no device; install the package that holds /usr/share/alsa (libasound2-data on Debian, alsa-lib elsewhere), or take ALSA_CONFIG_PATH out of the environment")

// audioConfigured refuses the configurations of ALSA with which PortAudio ends the whole process. PortAudio 19.6 lists all
// names but "default" and "dmix" first and then asserts that it has not used up the list
// (BuildDeviceList: devIdx < numDeviceNames), which fails where neither is there.
func audioConfigured() error {
	if C.spareListed() == 0 {
		return errNoALSA
	}
	return nil
}
