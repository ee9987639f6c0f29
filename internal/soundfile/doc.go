// Package soundfile reads the sound files that players hand in as takes, and
// writes takes to disk.
//
// [Read] takes WAV, FLAC, Ogg Vorbis and MP3, recognised by what is in the
// file and not by its name, and returns one channel of float32 samples. What
// the reader had to decide or to mend is told in [Sound.Remarks], one plain
// sentence each: a recording cut short, a wrong length in the header, clipping,
// a silent channel. What cannot be read is an error of one sentence that says
// what would work.
//
// # Conventions
//
//   - A sample is relative to full scale: code 16384 of a 16-bit file is 0.5
//     (the code divided by 2^(bits-1)), so whole-number formats lie in [-1, 1).
//   - Several channels become one: their mean, without the channels that are
//     silent (60 dB below the loudest). If the mean would cancel because the
//     channels are opposite in phase, the loudest channel is read alone.
//   - Samples are never scaled, filtered or resampled. An offset (DC), clipping
//     and values beyond full scale stay as they are and are remarked; only NaN
//     and infinite values are replaced, by 0.
//   - Rates from [MinRate] to [MaxRate] are read as they are. Callers that need
//     less refuse for themselves.
//   - A damaged file gives what lies before the damage, with a remark, as long
//     as there is anything. A file without any sound is an error.
//   - Files are opened for reading only. Memory is bounded by the true size of
//     a WAV file, and by [MaxDuration] for the compressed formats; what a
//     header promises is never believed. A decoder that panics is an error.
//
// # Non-goals
//
// No resampling, no playback, no tags or pictures, no multichannel output, no
// other formats (the error says which one it is and what to convert it to), and
// no dither in the 16-bit writers.
package soundfile
