/* Makes the RtMidi that gomidi brings speak JACK MIDI instead of ALSA's sequencer, for test machines without /dev/snd/seq:
 *   CGO_CXXFLAGS="-O2 -include DIR/rtmidi-jack.h" CGO_LDFLAGS="-O2 -ljack" go build -tags devices ./...
 * Both cannot be compiled in: RtMidi tries ALSA first and throws where it cannot be opened, so JACK never gets its turn. */
#undef __LINUX_ALSA__
#define __UNIX_JACK__
