// Package delay finds how long sound takes from the speaker back to the microphone, and how late the messages of a MIDI keyboard are against the sound of its
// keys; and it remembers both for each pair of devices.
//
//	chirps that were played + what the microphone recorded -> Find    -> arrivals \
//	messages of a keyboard  + what the microphone recorded -> Strikes -> arrivals  > Series -> Trial -> Result -> Store
//
// # Conventions
//
// Times and delays are seconds, sampling rates Hz, levels dBFS of the mean square (a full-scale square wave is 0). Samples are one channel of full scale 1.
// A delay is counted on the clock of the microphone's samples.
//
// The delay from speaker to microphone holds everything on the way: the buffers of the sound system both ways, the converters, and the air, in which sound takes 2.9
// ms a metre.
//
// The delay of a keyboard is the time of its message less the time of the sound that the key makes when it is struck, as the microphone hears it: the knock of the key
// itself, or the instrument's own sound if that is earlier. A key's contact closes some milliseconds before or after it knocks, depending on the keyboard
// and on how hard it is struck, so that it is known less well than the delay of the speaker; its spread is kept with it.
//
// # How it is done
//
// A chirp is found by the matched filter (North 1943; Turin, "An introduction to matched filters", 1960) with the analytic chirp, whose envelope does not mind
// a loudspeaker that turns the sound upside down. The first arrival counts and not the strongest: an echo from the desk may be louder. The chance that noise alone makes
// such an envelope is that of the largest of many Rayleigh variables. What is noise is told by the median of the envelope.
//
// Chirps follow each other at unequal distances, so that a delay beyond MostDelay is refused and not taken for a shorter one.
//
// A Trial goes on until two series in a row agree within Agreement, and says why where they do not.
//
// # Non-goals
//
// No device is opened, nothing is played, and no clock is read here; package sound does that. No correction for drift: two series lie seconds apart, and the audio
// clock of a stream is one clock.
package delay
